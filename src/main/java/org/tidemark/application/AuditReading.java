package org.tidemark.application;

import io.quarkus.narayana.jta.QuarkusTransaction;
import jakarta.enterprise.context.ApplicationScoped;
import java.util.ArrayList;
import java.util.LinkedHashSet;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.OptionalLong;
import java.util.Set;
import java.util.function.Function;
import java.util.regex.Matcher;
import java.util.regex.Pattern;
import org.hl7.fhir.r4.model.AuditEvent;
import org.tidemark.access.Action;
import org.tidemark.audit.AuditEventWriter;
import org.tidemark.audit.AuditTrail;
import org.tidemark.audit.Interaction;
import org.tidemark.audit.Visit;
import org.tidemark.fhir.Problem;
import org.tidemark.fhir.References;
import org.tidemark.fhir.TimeSpan;
import org.tidemark.store.AuditLink;
import org.tidemark.store.AuditQuery;
import org.tidemark.store.AuditQuery.By;
import org.tidemark.store.AuditStore;
import org.tidemark.store.Query;

/** The audit trail for clients who may read all of it. */
@ApplicationScoped
public class AuditReading {
  private static final Pattern NUMBER = Pattern.compile("[0-9]{1,18}");
  private static final Pattern VERSIONED = Pattern.compile("(.+)/_history/([0-9]{1,18})");

  private final AuditStore store;
  private final AuditTrail trail;
  private final AuditEventWriter writer;
  private final Guard guard;
  private final References references;
  private final Limits limits;

  AuditReading(
      AuditStore store,
      AuditTrail trail,
      AuditEventWriter writer,
      Guard guard,
      References references,
      Limits limits) {
    this.limits = limits;
    this.store = store;
    this.trail = trail;
    this.writer = writer;
    this.guard = guard;
    this.references = references;
  }

  /**
   * A page of a search.
   *
   * @param events the events
   * @param next where the next page begins, to be given as {@code _cursor}
   */
  public record Found(List<AuditEvent> events, Optional<String> next) {}

  /**
   * An event.
   *
   * @param id its number
   * @throws Problem when there is none (404), or the caller may not read the whole trail (403)
   */
  public AuditEvent read(String id) {
    guard.requireAll(Action.READ, Types.AUDIT);
    trail.catchUp();
    AuditEvent event =
        links(new AuditQuery(List.of(bySeq(id)), false, OptionalLong.empty(), 1)).stream()
            .findFirst()
            .map(writer::write)
            .orElseThrow(
                () ->
                    Problem.of(Problem.Kind.NOT_FOUND, "There is no AuditEvent/" + id + " here."));
    Visit.did(Interaction.READ, "AuditEvent/" + event.getIdPart(), 0, null);
    return event;
  }

  /**
   * Events, the newest first. What was acknowledged before the search is among them.
   *
   * @param given the parameters with their values
   * @throws Problem when a parameter is not offered, a value cannot be understood, or the caller
   *     may not read the whole trail
   */
  public Found search(Map<String, List<String>> given) {
    guard.requireAll(Action.SEARCH, Types.AUDIT);
    Visit.form(given);
    AuditQuery query = query(given);
    trail.catchUp();
    List<AuditLink> found =
        query.limit() == 0
            ? List.of()
            : links(
                new AuditQuery(
                    query.criteria(), query.upwards(), query.after(), query.limit() + 1));
    boolean more = found.size() > query.limit();
    List<AuditLink> shown = more ? found.subList(0, query.limit()) : found;
    Visit.showed(Interaction.SEARCH, "", people(query.criteria()));
    return new Found(
        shown.stream().map(writer::write).toList(),
        more ? Optional.of(Long.toString(shown.get(shown.size() - 1).seq())) : Optional.empty());
  }

  private List<AuditLink> links(AuditQuery query) {
    return QuarkusTransaction.joiningExisting().call(() -> store.search(query));
  }

  /** The people whose events were asked for. */
  private static Set<String> people(List<AuditQuery.Criterion> criteria) {
    Set<String> people = new LinkedHashSet<>();
    for (AuditQuery.Criterion criterion : criteria) {
      if (criterion instanceof AuditQuery.Either either) {
        people.addAll(people(either.any()));
      } else if (criterion instanceof AuditQuery.Is is && is.by() == By.PATIENT) {
        people.add(is.value().toString());
      }
    }
    return people;
  }

  private AuditQuery query(Map<String, List<String>> given) {
    List<AuditQuery.Criterion> criteria = new ArrayList<>();
    boolean upwards = false;
    OptionalLong after = OptionalLong.empty();
    int limit = limits.pageSize();
    for (Map.Entry<String, List<String>> parameter : given.entrySet()) {
      String name = parameter.getKey();
      for (String value : parameter.getValue()) {
        switch (name) {
          case "_count" -> limit = limits.count(value);
          case "_cursor" -> after = OptionalLong.of(cursor(value));
          case "_sort" -> upwards = upwards(value);
          default -> criteria.add(any(name, value));
        }
      }
    }
    return new AuditQuery(criteria, upwards, after, limit);
  }

  private static boolean upwards(String value) {
    if (!value.equals("date") && !value.equals("-date")) {
      throw Problem.of(
          Problem.Kind.UNKNOWN_PARAMETER, "AuditEvent can be sorted by: date.", "_sort");
    }
    return value.equals("date");
  }

  private static long cursor(String value) {
    if (!NUMBER.matcher(value).matches()) {
      throw Problem.of(
          Problem.Kind.BAD_REQUEST, "The page is not one that this server gave out.", "_cursor");
    }
    return Long.parseLong(value);
  }

  private AuditQuery.Criterion any(String name, String value) {
    if (value.isBlank()) {
      throw Problem.of(Problem.Kind.BAD_REQUEST, "'" + name + "' has no value.", name);
    }
    Function<String, AuditQuery.Criterion> reader = reader(name);
    return new AuditQuery.Either(Searching.split(value, ',').stream().map(reader).toList());
  }

  private Function<String, AuditQuery.Criterion> reader(String name) {
    return switch (name) {
      case "_id" -> AuditReading::bySeq;
      case "date", "_lastUpdated" -> value -> recorded(Searching.dates(name, value).get(0));
      case "action" -> value -> code(By.ACTION, value);
      case "outcome" -> value -> code(By.OUTCOME, value);
      case "agent" -> value -> new AuditQuery.Is(By.USER, reference(value, ""));
      case "agent:identifier" ->
          value -> {
            String id = value.substring(value.indexOf('|') + 1);
            return new AuditQuery.Either(
                List.of(new AuditQuery.Is(By.CLIENT, id), new AuditQuery.Is(By.USER, id)));
          };
      case "patient" -> value -> new AuditQuery.Is(By.PATIENT, reference(value, "Patient/"));
      case "entity" -> this::entity;
      default ->
          throw Problem.of(
              Problem.Kind.UNKNOWN_PARAMETER,
              "AuditEvent has no search parameter '%s' here. It has: _id, _lastUpdated, action,"
                      .formatted(name)
                  + " agent, date, entity, outcome, patient.",
              name);
    };
  }

  private static AuditQuery.Criterion bySeq(String id) {
    long seq = NUMBER.matcher(id).matches() ? Long.parseLong(id) : 0;
    return new AuditQuery.Is(By.SEQ, seq);
  }

  /** A code, with or without its system. */
  private static AuditQuery.Criterion code(By by, String value) {
    return new AuditQuery.Is(by, value.substring(value.indexOf('|') + 1));
  }

  private AuditQuery.Criterion entity(String value) {
    Matcher versioned = VERSIONED.matcher(value);
    if (!versioned.matches()) {
      return record(value);
    }
    return new AuditQuery.Both(
        List.of(
            record(versioned.group(1)),
            new AuditQuery.Version(Long.parseLong(versioned.group(2)))));
  }

  /** The record itself, or the person as which it takes part. */
  private AuditQuery.Criterion record(String value) {
    String name = reference(value, "");
    AuditQuery.Criterion record = new AuditQuery.Is(By.ENTITY, name);
    return References.typeOf(name).equals("Patient")
        ? new AuditQuery.Either(List.of(record, new AuditQuery.Is(By.PATIENT, name)))
        : record;
  }

  private String reference(String value, String type) {
    String text = Searching.unescaped(value);
    return references.normal(text.contains("/") ? text : type + text);
  }

  /** FHIR's comparisons, of an instant with the span that a date covers. */
  private static AuditQuery.Criterion recorded(Query.DateTest test) {
    long low = test.lowMs();
    long high = test.highMs();
    return switch (test.comparison()) {
      case WITHIN, OVERLAPS -> new AuditQuery.Recorded(low, high, true);
      case NOT_WITHIN -> new AuditQuery.Recorded(low, high, false);
      case ENDS_AFTER, BEGINS_AFTER -> from(high);
      case BEGINS_BEFORE, ENDS_BEFORE -> until(low);
      case WITHIN_OR_ENDS_AFTER -> from(low);
      case WITHIN_OR_BEGINS_BEFORE -> until(high);
    };
  }

  private static AuditQuery.Criterion from(long ms) {
    return new AuditQuery.Recorded(ms, TimeSpan.FOR_EVER_MS, true);
  }

  private static AuditQuery.Criterion until(long ms) {
    return new AuditQuery.Recorded(TimeSpan.ALWAYS_MS, ms, true);
  }
}

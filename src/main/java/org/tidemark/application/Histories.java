package org.tidemark.application;

import ca.uhn.fhir.context.FhirContext;
import io.quarkus.narayana.jta.QuarkusTransaction;
import jakarta.enterprise.context.ApplicationScoped;
import java.nio.charset.StandardCharsets;
import java.time.Instant;
import java.util.Base64;
import java.util.LinkedHashSet;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.Set;
import org.hl7.fhir.r4.model.Resource;
import org.tidemark.audit.Interaction;
import org.tidemark.audit.Visit;
import org.tidemark.fhir.Problem;
import org.tidemark.fhir.TimeSpan;
import org.tidemark.store.HistoryQuery;
import org.tidemark.store.PastVersion;
import org.tidemark.store.ResourceStore;

/** Reads the history of one record, of a type, or of all records. */
@ApplicationScoped
public class Histories {
  private final ResourceStore store;
  private final FhirContext context;
  private final Guard guard;
  private final Limits limits;

  Histories(ResourceStore store, FhirContext context, Guard guard, Limits limits) {
    this.limits = limits;
    this.guard = guard;
    this.store = store;
    this.context = context;
  }

  /**
   * A page of a history.
   *
   * @param type only of this type
   * @param id only of this record; needs a type
   * @param given the parameters {@code _since}, {@code _at}, {@code _count} and {@code _cursor}
   * @return the page
   * @throws Problem when there never was such a record, a parameter is not offered, or a value
   *     cannot be understood
   */
  public Past read(Optional<String> type, Optional<String> id, Map<String, List<String>> given) {
    HistoryQuery query = query(type, id, given, guard.parts(type, id.isPresent()));
    return QuarkusTransaction.joiningExisting().call(() -> page(query));
  }

  private Past page(HistoryQuery query) {
    if (query.id().isPresent() && !isThere(query)) {
      throw Problem.of(
          Problem.Kind.NOT_FOUND,
          "There is no %s/%s here.".formatted(query.type().get(), query.id().get()));
    }
    List<PastVersion> found = store.history(limited(query, query.limit() + 1));
    boolean more = found.size() > query.limit();
    List<PastVersion> shown = more ? found.subList(0, query.limit()) : found;
    List<PastVersion> reached = shown.stream().filter(this::isReached).toList();
    note(query, reached);
    return new Past(
        reached.stream().map(this::version).toList(),
        more ? Optional.of(cursor(shown.get(shown.size() - 1))) : Optional.empty());
  }

  private static void note(HistoryQuery query, List<PastVersion> reached) {
    Interaction what =
        query.id().isPresent()
            ? Interaction.HISTORY_INSTANCE
            : query.type().isPresent() ? Interaction.HISTORY_TYPE : Interaction.HISTORY_SYSTEM;
    Set<String> people = new LinkedHashSet<>();
    reached.stream()
        .map(past -> past.stored().subject())
        .filter(subject -> subject != null)
        .forEach(people::add);
    String record = query.id().map(id -> query.type().orElseThrow() + "/" + id).orElse("");
    Visit.showed(what, record, people);
  }

  /** Whether there is a version of the record that the caller may see. */
  private boolean isThere(HistoryQuery query) {
    HistoryQuery any =
        new HistoryQuery(
            query.type(),
            query.id(),
            Optional.empty(),
            Optional.empty(),
            query.parts(),
            Optional.empty(),
            Integer.MAX_VALUE);
    return query.parts().isEmpty()
        ? store.lastVersion(query.type().orElseThrow(), query.id().orElseThrow()) > 0
        : store.history(any).stream().anyMatch(this::isReached);
  }

  /**
   * Whether a version meets the conditions of a right; of a deletion only whom it is about counts.
   */
  private boolean isReached(PastVersion past) {
    return past.deleted() ? guard.knew(past.stored()) : guard.sees(past.stored());
  }

  private static HistoryQuery limited(HistoryQuery query, int limit) {
    return new HistoryQuery(
        query.type(), query.id(), query.since(), query.at(), query.parts(), query.after(), limit);
  }

  private Past.Version version(PastVersion past) {
    Optional<Resource> resource =
        past.deleted() ? Optional.empty() : Optional.of(FhirModel.parsed(context, past.stored()));
    return new Past.Version(
        past.stored().type(),
        past.stored().id(),
        past.stored().version(),
        past.stored().lastUpdated(),
        resource);
  }

  private HistoryQuery query(
      Optional<String> type,
      Optional<String> id,
      Map<String, List<String>> given,
      List<HistoryQuery.Part> parts) {
    Optional<Instant> since = Optional.empty();
    Optional<HistoryQuery.Span> at = Optional.empty();
    Optional<HistoryQuery.Place> after = Optional.empty();
    int limit = limits.pageSize();
    for (Map.Entry<String, List<String>> entry : given.entrySet()) {
      if (entry.getValue().size() > 1) {
        throw Problem.of(
            Problem.Kind.BAD_REQUEST, "A history takes each parameter once.", entry.getKey());
      }
      String value = entry.getValue().get(0);
      switch (entry.getKey()) {
        case "_since" -> since = Optional.of(Instant.ofEpochMilli(time("_since", value).lowMs()));
        case "_at" -> {
          TimeSpan span = time("_at", value);
          at =
              Optional.of(
                  new HistoryQuery.Span(
                      Instant.ofEpochMilli(span.lowMs()), Instant.ofEpochMilli(span.highMs())));
        }
        case "_count" -> limit = Math.max(1, limits.count(value));
        case "_cursor" -> after = Optional.of(place(value));
        default ->
            throw Problem.of(
                Problem.Kind.UNKNOWN_PARAMETER,
                "A history takes _since, _at and _count.",
                entry.getKey());
      }
    }
    return new HistoryQuery(type, id, since, at, parts, after, limit);
  }

  private static TimeSpan time(String name, String value) {
    return TimeSpan.parse(value.replace(' ', '+'))
        .orElseThrow(
            () ->
                Problem.of(
                    Problem.Kind.BAD_REQUEST,
                    "A time is asked for as 2026-03-02T18:00:00Z or 2026-03-02.",
                    name));
  }

  private static String cursor(PastVersion last) {
    String text =
        "%d %s %s %d"
            .formatted(
                last.stored().lastUpdated().toEpochMilli(),
                last.stored().type(),
                last.stored().id(),
                last.stored().version());
    return Base64.getUrlEncoder()
        .withoutPadding()
        .encodeToString(text.getBytes(StandardCharsets.UTF_8));
  }

  private static HistoryQuery.Place place(String value) {
    try {
      String[] parts =
          new String(Base64.getUrlDecoder().decode(value), StandardCharsets.UTF_8).split(" ");
      return new HistoryQuery.Place(
          Instant.ofEpochMilli(Long.parseLong(parts[0])),
          parts[1],
          parts[2],
          Long.parseLong(parts[3]));
    } catch (IllegalArgumentException | ArrayIndexOutOfBoundsException e) {
      throw Problem.of(
          Problem.Kind.BAD_REQUEST, "The page is not one that this server gave out.", "_cursor");
    }
  }
}

package org.tidemark.application;

import ca.uhn.fhir.context.FhirContext;
import io.quarkus.narayana.jta.QuarkusTransaction;
import jakarta.enterprise.context.ApplicationScoped;
import java.nio.charset.StandardCharsets;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.Base64;
import java.util.Collection;
import java.util.LinkedHashMap;
import java.util.LinkedHashSet;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.OptionalInt;
import java.util.OptionalLong;
import java.util.Set;
import org.tidemark.fhir.Problem;
import org.tidemark.fhir.References;
import org.tidemark.fhir.Referred;
import org.tidemark.fhir.SearchParameters;
import org.tidemark.fhir.TimeSpan;
import org.tidemark.store.Query;
import org.tidemark.store.ResourceStore;
import org.tidemark.store.Stored;

/**
 * Everything about one person, page by page: first by type, then by id, so that a page is where the
 * last record of the page before says it goes on. With the records of a page comes what they refer
 * to and is about nobody. Source: R4, operation {@code Patient/$everything}.
 */
@ApplicationScoped
public class Everything {
  private static final String PATIENT = "Patient";
  private static final int MOST_ALONG = Searches.MOST_ALONG;

  private final Records records;
  private final ResourceStore store;
  private final SearchParameters parameters;
  private final References references;
  private final Guard guard;
  private final Compartment compartment;
  private final FhirContext context;
  private final Limits limits;

  Everything(
      Records records,
      ResourceStore store,
      SearchParameters parameters,
      References references,
      Guard guard,
      Compartment compartment,
      FhirContext context,
      Limits limits) {
    this.limits = limits;
    this.records = records;
    this.store = store;
    this.parameters = parameters;
    this.references = references;
    this.guard = guard;
    this.context = context;
    this.compartment = compartment;
  }

  /**
   * A page of everything about a person that the caller may see.
   *
   * @param id the id of the Patient
   * @param given the parameters {@code start}, {@code end}, {@code _since}, {@code _type}, {@code
   *     _count} and {@code _cursor}
   * @return the page; its entries that are no matches are what those refer to
   * @throws Problem when there is no such person within reach, a parameter is not offered, or a
   *     value cannot be understood
   */
  public Page read(String id, Map<String, List<String>> given) {
    records
        .kept(PATIENT, id, OptionalLong.empty())
        .orElseThrow(() -> records.absent(Address.of(PATIENT, id)));
    Asked asked = Asked.read(given, limits);
    Set<String> seen =
        guard.requireSeen(
            asked.types().isEmpty() ? new LinkedHashSet<>(Types.served().toList()) : asked.types());
    return QuarkusTransaction.joiningExisting().call(() -> page(PATIENT + "/" + id, asked, seen));
  }

  private Page page(String person, Asked asked, Set<String> seen) {
    List<Stored> found = found(person, asked, seen);
    boolean more = found.size() > asked.count();
    List<Stored> shown = more ? found.subList(0, asked.count()) : found;
    List<Page.Entry> entries = new ArrayList<>();
    shown.forEach(match -> entries.add(entry(match, true)));
    along(shown, asked, seen).forEach(other -> entries.add(entry(other, false)));
    return new Page(
        entries,
        OptionalLong.empty(),
        more ? Optional.of(Mark.of(shown.get(shown.size() - 1))) : Optional.empty(),
        List.of());
  }

  private Page.Entry entry(Stored stored, boolean match) {
    return new Page.Entry(
        stored.type(), stored.id(), match, stored.json(), () -> FhirModel.parsed(context, stored));
  }

  /** The records of a page, and one more where there is one. */
  private List<Stored> found(String person, Asked asked, Set<String> seen) {
    List<Stored> found = new ArrayList<>();
    boolean reached = asked.after().isEmpty();
    for (String type : compartment.types()) {
      Optional<Mark> here = asked.after().filter(mark -> mark.type().equals(type));
      reached |= here.isPresent();
      int missing = asked.count() + 1 - found.size();
      if (reached && missing > 0 && seen.contains(type)) {
        Query query = guard.narrowedToSeen(about(person, type, asked, missing));
        store
            .search(
                here.map(mark -> query.from(new Query.Cursor(List.of(mark.id())))).orElse(query))
            .forEach(one -> found.add(one.stored()));
      }
    }
    return found;
  }

  private Query about(String person, String type, Asked asked, int most) {
    List<Query.Criterion> criteria = new ArrayList<>();
    Set<String> subjects = Set.of(person);
    if (type.equals(Compartment.PROVENANCE)) {
      subjects = Set.of();
      criteria.add(
          new Query.Either(
              List.of(
                  List.of(new Query.About(Set.of(person))),
                  List.of(new Query.LeadsTo("target", compartment.types(), person)))));
    }
    asked.since().ifPresent(criteria::add);
    asked.care().flatMap(care -> within(care, type)).ifPresent(criteria::add);
    return new Query(type, subjects, criteria, List.of(Query.Sort.BY_ID), Optional.empty(), most);
  }

  /** That the record's own date, if it has one, has a moment in common with the time asked for. */
  private Optional<Query.Criterion> within(Query.DateTest care, String type) {
    List<List<Query.Criterion>> ways = new ArrayList<>();
    List<Query.Criterion> without = new ArrayList<>();
    for (String name : parameters.happened(type)) {
      List<Query.Criterion> way = new ArrayList<>(without);
      way.add(new Query.Dates(name, List.of(care)));
      ways.add(way);
      without.add(new Query.Not(new Query.Present(Query.Values.DATES, name)));
    }
    if (ways.isEmpty()) {
      return Optional.empty();
    }
    ways.add(without);
    return Optional.of(new Query.Either(ways));
  }

  // ---- what they refer to ----

  private Collection<Stored> along(List<Stored> matches, Asked asked, Set<String> seen) {
    Map<String, Set<String>> ids = new LinkedHashMap<>();
    Set<String> definitions = new LinkedHashSet<>();
    for (Stored match : matches) {
      Referred referred = Referred.by(FhirModel.parsed(context, match), references);
      definitions.addAll(referred.definitions());
      referred
          .records()
          .forEach(
              target ->
                  ids.computeIfAbsent(References.typeOf(target), type -> new LinkedHashSet<>())
                      .add(References.idOf(target)));
    }
    Map<String, Stored> along = new LinkedHashMap<>();
    for (String type : seen) {
      List<List<Query.Criterion>> ways = new ArrayList<>();
      if (ids.containsKey(type)) {
        ways.add(List.of(new Query.Ids(ids.get(type))));
      }
      if (parameters.find(type, "url").isPresent()) {
        definitions.forEach(canonical -> ways.add(named(canonical)));
      }
      if (!ways.isEmpty()) {
        aboutNobody(type, ways, asked).forEach(one -> along.put(type + "/" + one.id(), one));
      }
    }
    matches.forEach(match -> along.remove(match.type() + "/" + match.id()));
    return along.values();
  }

  private static List<Query.Criterion> named(String canonical) {
    String[] parts = canonical.split("\\|", 2);
    Query.Criterion url = new Query.Uris("url", Set.of(parts[0]));
    return parts.length == 1
        ? List.of(url)
        : List.of(
            url,
            new Query.Tokens(
                "version", List.of(new Query.TokenTest(Optional.empty(), Optional.of(parts[1])))));
  }

  /** Of another person nothing comes along. */
  private List<Stored> aboutNobody(String type, List<List<Query.Criterion>> ways, Asked asked) {
    List<Query.Criterion> criteria = new ArrayList<>();
    criteria.add(new Query.Not(new Query.HasSubject()));
    criteria.add(new Query.Either(ways));
    asked.since().ifPresent(criteria::add);
    return store.search(guard.narrowedToSeen(Query.byId(type, criteria, MOST_ALONG))).stream()
        .map(ResourceStore.Found::stored)
        .toList();
  }

  // ---- what is asked ----

  /**
   * What is asked of everything.
   *
   * @param care the time that the records are about
   * @param since that they have been written after a moment
   * @param types their types; empty for all
   * @param count how many to a page, 1 or more
   * @param after the last record of the page before
   */
  private record Asked(
      Optional<Query.DateTest> care,
      Optional<Query.Criterion> since,
      Set<String> types,
      int count,
      Optional<Mark> after) {

    static Asked read(Map<String, List<String>> given, Limits limits) {
      OptionalLong start = OptionalLong.empty();
      OptionalLong end = OptionalLong.empty();
      Optional<Query.Criterion> since = Optional.empty();
      Set<String> types = new LinkedHashSet<>();
      OptionalInt count = OptionalInt.empty();
      Optional<Mark> after = Optional.empty();
      for (Map.Entry<String, List<String>> one : given.entrySet()) {
        String name = one.getKey();
        if (name.equals("_type")) {
          one.getValue().forEach(value -> types.addAll(Arrays.asList(value.split(",", -1))));
          types.forEach(Asked::requireServed);
          continue;
        }
        if (one.getValue().size() > 1) {
          throw Problem.of(Problem.Kind.BAD_REQUEST, "'" + name + "' is taken once.", name);
        }
        String value = one.getValue().get(0);
        switch (name) {
          case "start" -> start = OptionalLong.of(time(name, value).lowMs());
          case "end" -> end = OptionalLong.of(time(name, value).highMs());
          case "_since" -> since = Optional.of(writtenAfter(time(name, value)));
          case "_count" -> count = OptionalInt.of(Math.max(1, limits.count(value)));
          case "_cursor" -> after = Optional.of(Mark.read(value));
          default ->
              throw Problem.of(
                  Problem.Kind.UNKNOWN_PARAMETER,
                  "$everything takes start, end, _since, _type and _count.",
                  name);
        }
      }
      boolean always = start.isEmpty() && end.isEmpty();
      Query.DateTest care =
          new Query.DateTest(
              Query.Comparison.OVERLAPS,
              start.orElse(TimeSpan.ALWAYS_MS),
              end.orElse(TimeSpan.FOR_EVER_MS));
      return new Asked(
          always ? Optional.empty() : Optional.of(care),
          since,
          types,
          count.orElse(limits.pageLimit()),
          after);
    }

    private static void requireServed(String type) {
      if (!Types.isServed(type)) {
        throw Problem.of(
            Problem.Kind.BAD_REQUEST, "The type '" + type + "' is not served here.", "_type");
      }
    }
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

  private static Query.Criterion writtenAfter(TimeSpan moment) {
    long first = moment.lowMs() + 1;
    return new Query.Updated(
        List.of(new Query.DateTest(Query.Comparison.BEGINS_AFTER, first, first)));
  }

  /** The last record of a page. */
  private record Mark(String type, String id) {
    static String of(Stored last) {
      return Base64.getUrlEncoder()
          .withoutPadding()
          .encodeToString((last.type() + "/" + last.id()).getBytes(StandardCharsets.UTF_8));
    }

    static Mark read(String text) {
      String last = "";
      try {
        last = new String(Base64.getUrlDecoder().decode(text), StandardCharsets.UTF_8);
      } catch (IllegalArgumentException notOurs) {
        // Refused below, like any other text that is no record's address.
      }
      if (!References.isLocal(last) || !Types.isServed(References.typeOf(last))) {
        throw Problem.of(
            Problem.Kind.BAD_REQUEST, "The page is not one that this server gave out.", "_cursor");
      }
      return new Mark(References.typeOf(last), References.idOf(last));
    }
  }
}

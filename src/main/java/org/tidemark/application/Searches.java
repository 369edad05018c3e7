package org.tidemark.application;

import ca.uhn.fhir.context.FhirContext;
import io.quarkus.narayana.jta.QuarkusTransaction;
import jakarta.enterprise.context.ApplicationScoped;
import java.util.ArrayList;
import java.util.Collection;
import java.util.LinkedHashMap;
import java.util.LinkedHashSet;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.OptionalLong;
import java.util.Set;
import java.util.stream.Stream;
import org.tidemark.access.Action;
import org.tidemark.audit.Interaction;
import org.tidemark.audit.Visit;
import org.tidemark.fhir.Problem;
import org.tidemark.fhir.References;
import org.tidemark.store.Query;
import org.tidemark.store.ResourceStore;
import org.tidemark.store.Stored;

/** Carries out the searches of clients. */
@ApplicationScoped
public class Searches {
  /** The most records that come along with those of a page. */
  public static final int MOST_ALONG = 1000;

  private final Searching searching;
  private final Guard guard;
  private final ResourceStore store;
  private final FhirContext context;

  Searches(Searching searching, Guard guard, ResourceStore store, FhirContext context) {
    this.searching = searching;
    this.guard = guard;
    this.store = store;
    this.context = context;
  }

  /**
   * Carries out a search.
   *
   * @param type the type searched
   * @param given the parameters with their values
   * @param handling what becomes of a parameter that is not offered
   * @return the page
   * @throws Problem when a parameter is not offered, a value cannot be understood, or too many
   *     records would come along
   */
  public Page search(String type, Map<String, List<String>> given, Handling handling) {
    guard.require(Action.SEARCH, type);
    Visit.form(given);
    Search search = narrowed(searching.search(type, given, handling));
    return QuarkusTransaction.joiningExisting().call(() -> page(search));
  }

  /** Notes whom a page is about: those who were asked for, and those who are on it. */
  private static void note(Search search, List<Stored> matches, Collection<Stored> along) {
    Set<String> people = new LinkedHashSet<>(search.query().subjects());
    Stream.concat(matches.stream(), along.stream())
        .map(Stored::subject)
        .filter(subject -> subject != null)
        .forEach(people::add);
    Visit.showed(Interaction.SEARCH, "", people);
  }

  /** The same search for what the caller may see. */
  private Search narrowed(Search search) {
    Set<Link> forwards = new LinkedHashSet<>();
    for (Link link : search.forwards()) {
      forwards.add(new Link(link.source(), link.parameter(), guard.requireSeen(link.targets())));
    }
    search.backwards().forEach(link -> guard.requireSeen(Set.of(link.source())));
    return new Search(
        guard.narrowed(search.query()),
        search.total(),
        forwards,
        search.backwards(),
        search.ignored());
  }

  private Page page(Search search) {
    Query query = search.query();
    boolean alone = search.total() == Search.Total.ALONE;
    List<ResourceStore.Found> found =
        alone ? List.of() : store.search(query.limitedTo(query.limit() + 1));
    boolean more = found.size() > query.limit();
    List<ResourceStore.Found> shown = more ? found.subList(0, query.limit()) : found;
    List<Stored> matches = shown.stream().map(ResourceStore.Found::stored).toList();
    List<Page.Entry> entries = new ArrayList<>();
    matches.forEach(match -> entries.add(entry(match, true)));
    Collection<Stored> along = along(search, matches);
    along.forEach(other -> entries.add(entry(other, false)));
    note(search, matches, along);
    return new Page(
        entries,
        total(search, more, shown.size()),
        more ? Optional.of(PageMark.of(shown.get(shown.size() - 1).place())) : Optional.empty(),
        search.ignored());
  }

  private OptionalLong total(Search search, boolean more, int shown) {
    boolean onePage = !more && search.query().after().isEmpty();
    return switch (search.total()) {
      case NONE -> OptionalLong.empty();
      case FREE -> onePage ? OptionalLong.of(shown) : OptionalLong.empty();
      case COUNTED, ALONE -> OptionalLong.of(store.count(search.query()));
    };
  }

  private Page.Entry entry(Stored stored, boolean match) {
    return new Page.Entry(
        stored.type(), stored.id(), match, stored.json(), () -> FhirModel.parsed(context, stored));
  }

  /** What comes along with the records of a page, each once, and none of the page itself. */
  private Collection<Stored> along(Search search, List<Stored> matches) {
    Map<String, Stored> along = new LinkedHashMap<>();
    if (!matches.isEmpty()) {
      search.forwards().forEach(link -> add(led(link, matches), along));
      search.backwards().forEach(link -> add(referring(link, matches), along));
      matches.forEach(match -> along.remove(name(match)));
    }
    return along.values();
  }

  private static void add(List<Stored> more, Map<String, Stored> along) {
    more.forEach(stored -> along.put(name(stored), stored));
    if (along.size() > MOST_ALONG) {
      throw tooMany();
    }
  }

  /** The records that a link leads to. */
  private List<Stored> led(Link link, List<Stored> matches) {
    Map<String, Set<String>> idsByType = new LinkedHashMap<>();
    for (String target : targets(link, matches)) {
      String type = References.typeOf(target);
      if (References.isLocal(target) && link.targets().contains(type)) {
        idsByType
            .computeIfAbsent(type, other -> new LinkedHashSet<>())
            .add(References.idOf(target));
      }
    }
    List<Stored> led = new ArrayList<>();
    idsByType.forEach((type, ids) -> led.addAll(all(type, new Query.Ids(ids))));
    return led;
  }

  private Collection<String> targets(Link link, List<Stored> matches) {
    if (link.isSubject()) {
      Set<String> subjects = new LinkedHashSet<>();
      matches.stream()
          .map(Stored::subject)
          .filter(subject -> subject != null)
          .forEach(subjects::add);
      return subjects;
    }
    return store.targets(
        link.source(), matches.stream().map(Stored::id).toList(), link.parameter());
  }

  /** The records from which a link comes. */
  private List<Stored> referring(Link link, List<Stored> matches) {
    Set<String> names = new LinkedHashSet<>();
    matches.forEach(match -> names.add(name(match)));
    return all(
        link.source(),
        link.isSubject() ? new Query.About(names) : new Query.Uris(link.parameter(), names));
  }

  private List<Stored> all(String type, Query.Criterion criterion) {
    List<ResourceStore.Found> found =
        store.search(guard.narrowedToSeen(Query.byId(type, List.of(criterion), MOST_ALONG + 1)));
    if (found.size() > MOST_ALONG) {
      throw tooMany();
    }
    return found.stream().map(ResourceStore.Found::stored).toList();
  }

  private static Problem tooMany() {
    return Problem.of(
        Problem.Kind.TOO_COSTLY,
        ("More than %d records would come along with this page. Ask for fewer by _count, or search"
                + " for them by themselves.")
            .formatted(MOST_ALONG),
        "_count");
  }

  private static String name(Stored stored) {
    return stored.type() + "/" + stored.id();
  }
}

package org.tidemark.application;

import java.util.ArrayList;
import java.util.LinkedHashSet;
import java.util.List;
import java.util.Optional;
import java.util.Set;
import org.tidemark.store.Query;

/** A search while its parameters are read one by one. */
final class SearchDraft {
  private final String type;
  private final List<Query.Criterion> criteria = new ArrayList<>();
  private final Set<Link> forwards = new LinkedHashSet<>();
  private final Set<Link> backwards = new LinkedHashSet<>();
  private final List<Page.Ignored> ignored = new ArrayList<>();
  private List<Query.Sort> sort;
  private Optional<Set<String>> people = Optional.empty();
  private Optional<String> mark = Optional.empty();
  private int limit;
  private Search.Total total = Search.Total.FREE;
  private boolean onlyTotal;

  SearchDraft(String type, Query.Sort usual, int limit) {
    this.limit = limit;
    this.type = type;
    this.sort = List.of(usual);
  }

  String type() {
    return type;
  }

  void require(Query.Criterion criterion) {
    criteria.add(criterion);
  }

  /** Requires that it is about one of these, and of those of before. */
  void about(Set<String> any) {
    Set<String> both = new LinkedHashSet<>(any);
    people.ifPresent(both::retainAll);
    people = Optional.of(both);
  }

  void sort(List<Query.Sort> by) {
    sort = by;
  }

  void after(String pageMark) {
    mark = Optional.of(pageMark);
  }

  void limit(int most) {
    limit = most;
  }

  void total(Search.Total when) {
    total = when;
  }

  void onlyTotal() {
    onlyTotal = true;
  }

  void forward(Link link) {
    forwards.add(link);
  }

  void backward(Link link) {
    backwards.add(link);
  }

  void ignore(Page.Ignored parameter) {
    ignored.add(parameter);
  }

  Search finished() {
    if (people.isPresent() && people.get().isEmpty()) {
      criteria.add(new Query.Ids(Set.of("")));
    }
    Query query = new Query(type, people.orElse(Set.of()), criteria, sort, Optional.empty(), limit);
    return new Search(
        mark.map(text -> query.from(PageMark.read(text, query.sort()))).orElse(query),
        onlyTotal || limit == 0 ? Search.Total.ALONE : total,
        forwards,
        backwards,
        List.copyOf(ignored));
  }
}

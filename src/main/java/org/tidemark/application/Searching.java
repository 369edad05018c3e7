package org.tidemark.application;

import jakarta.enterprise.context.ApplicationScoped;
import java.util.ArrayList;
import java.util.LinkedHashSet;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.Set;
import java.util.stream.Collectors;
import org.hl7.fhir.r4.model.Identifier;
import org.tidemark.fhir.Problem;
import org.tidemark.fhir.References;
import org.tidemark.fhir.SearchParameters;
import org.tidemark.fhir.TimeSpan;
import org.tidemark.store.Query;

/** Reads a FHIR search into a query of the store. Anything that is not declared is refused. */
@ApplicationScoped
public class Searching {
  /** The most keys of an order; each costs a look-up for every record that matches. */
  public static final int MOST_SORTED = 4;

  private static final long DAY_MS = 86_400_000L;

  private final SearchParameters parameters;
  private final References references;
  private final Links links;
  private final Limits limits;

  Searching(SearchParameters parameters, References references, Links links, Limits limits) {
    this.limits = limits;
    this.parameters = parameters;
    this.links = links;
    this.references = references;
  }

  /**
   * Reads a search of which only the records matter.
   *
   * @param type the type searched
   * @param given the parameters with their values, undecoded by FHIR's rules
   * @return the query; its limit is the page's count
   * @throws Problem when a parameter is not offered, or a value cannot be understood
   */
  Query read(String type, Map<String, List<String>> given) {
    return search(type, given, Handling.STRICT).query();
  }

  /**
   * Reads a search.
   *
   * @param type the type searched
   * @param given the parameters with their values, undecoded by FHIR's rules
   * @param handling what becomes of a parameter that is not offered
   * @return the search
   * @throws Problem when a parameter is not offered, or a value cannot be understood
   */
  Search search(String type, Map<String, List<String>> given, Handling handling) {
    SearchDraft draft = new SearchDraft(type, usual(type), limits.pageSize());
    given.forEach((name, values) -> values.forEach(value -> take(draft, name, value, handling)));
    return draft.finished();
  }

  private void take(SearchDraft draft, String name, String value, Handling handling) {
    if (value.isBlank()) {
      throw Problem.of(Problem.Kind.BAD_REQUEST, "'" + name + "' has no value.", name);
    }
    try {
      take(draft, name, value);
    } catch (Problem problem) {
      boolean notOffered = problem.issues().get(0).kind() == Problem.Kind.UNKNOWN_PARAMETER;
      if (handling == Handling.STRICT || !notOffered) {
        throw problem;
      }
      draft.ignore(new Page.Ignored(name, value, problem));
    }
  }

  private void take(SearchDraft draft, String name, String value) {
    String type = draft.type();
    switch (name) {
      case "_count" -> draft.limit(limits.count(value));
      case "_cursor" -> draft.after(value);
      case "_sort" -> draft.sort(sort(type, value));
      case "_total" -> draft.total(total(value));
      case "_summary" -> {
        if (isCount(value)) {
          draft.onlyTotal();
        }
      }
      case "_include" -> draft.forward(links.forward(type, value));
      case "_revinclude" -> draft.backward(links.backward(type, value));
      case "_id" -> draft.require(new Query.Ids(Set.copyOf(split(value, ','))));
      case "_lastUpdated" -> draft.require(new Query.Updated(dates(name, value)));
      default -> take(draft, asked(type, name), value);
    }
  }

  private void take(SearchDraft draft, Asked asked, String value) {
    Query.Criterion criterion =
        switch (asked.modifier()) {
          case MISSING -> {
            Query.Criterion present = present(asked);
            yield isTrue(asked, value) ? new Query.Not(present) : present;
          }
          case NOT -> new Query.Not(criterion(asked, value));
          case NONE -> criterion(asked, value);
        };
    if (criterion instanceof Query.About about) {
      draft.about(about.any());
    } else {
      draft.require(criterion);
    }
  }

  private static Query.Criterion present(Asked asked) {
    String name = asked.parameter().name();
    if (asked.isSubject()) {
      return new Query.HasSubject();
    }
    return switch (asked.parameter().form()) {
      case TOKEN -> new Query.Present(Query.Values.TOKENS, name);
      case DATE -> new Query.Present(Query.Values.DATES, name);
      case QUANTITY -> new Query.Present(Query.Values.QUANTITIES, name);
      case URI, REFERENCE -> new Query.Present(Query.Values.URIS, name);
    };
  }

  private static boolean isTrue(Asked asked, String value) {
    if (!value.equals("true") && !value.equals("false")) {
      throw Problem.of(
          Problem.Kind.BAD_REQUEST,
          "The modifier ':missing' is true or false.",
          asked.parameter().name() + ":missing");
    }
    return value.equals("true");
  }

  /** The order of a search that asks for none: the newest first. */
  private Query.Sort usual(String type) {
    return Query.Sort.by(
        parameters.happened(type).isEmpty() ? Query.Order.UPDATED : Query.Order.HAPPENED, true);
  }

  private static Search.Total total(String value) {
    return switch (value) {
      case "none" -> Search.Total.NONE;
      case "estimate", "accurate" -> Search.Total.COUNTED;
      default ->
          throw Problem.of(
              Problem.Kind.BAD_REQUEST, "_total is none, estimate or accurate.", "_total");
    };
  }

  /** Whether only the number is wanted; the other summaries concern the form of the answer. */
  private static boolean isCount(String summary) {
    if (!summary.equals("count") && !summary.equals("false")) {
      throw Problem.of(
          Problem.Kind.BAD_REQUEST,
          "_summary is one of true, text, data, count and false; inside a Bundle it is count or"
              + " false.",
          "_summary");
    }
    return summary.equals("count");
  }

  /** What may follow a parameter's name, besides a type. */
  private enum Modifier {
    NONE,
    NOT,
    MISSING
  }

  /** A parameter of a type as it was asked for: {@code subject:Patient}, {@code status:not}. */
  private record Asked(
      String type, SearchParameters.Parameter parameter, Set<String> targets, Modifier modifier) {
    boolean isSubject() {
      return IndexedRecord.isSubject(type, parameter.name());
    }
  }

  private Asked asked(String type, String name) {
    int colon = name.indexOf(':');
    String plain = colon < 0 ? name : name.substring(0, colon);
    SearchParameters.Parameter parameter =
        parameters.find(type, plain).orElseThrow(() -> notDeclared(type, plain, name));
    Set<String> targets = plain.equals("patient") ? Set.of("Patient") : parameter.targets();
    if (colon < 0) {
      return new Asked(type, parameter, targets, Modifier.NONE);
    }
    String modifier = name.substring(colon + 1);
    if (!SearchParameters.modifiers(parameter.form()).contains(modifier)) {
      boolean named = targets.isEmpty() ? Types.isServed(modifier) : targets.contains(modifier);
      if (!named || !parameter.leadsTo(modifier)) {
        throw Problem.of(
            Problem.Kind.UNKNOWN_PARAMETER,
            "The modifier ':" + modifier + "' is not offered for '" + plain + "'.",
            name);
      }
      return new Asked(type, parameter, Set.of(modifier), Modifier.NONE);
    }
    return new Asked(
        type, parameter, targets, modifier.equals("not") ? Modifier.NOT : Modifier.MISSING);
  }

  private Problem notDeclared(String type, String plain, String name) {
    return Problem.of(
        Problem.Kind.UNKNOWN_PARAMETER,
        "%s has no search parameter '%s' here. It has: _id, _lastUpdated, %s."
            .formatted(
                type,
                plain,
                parameters.of(type).stream()
                    .map(SearchParameters.Parameter::name)
                    .sorted()
                    .collect(Collectors.joining(", "))),
        name);
  }

  private Query.Criterion criterion(Asked asked, String value) {
    String name = asked.parameter().name();
    return switch (asked.parameter().form()) {
      case TOKEN -> tokens(name, value);
      case DATE -> new Query.Dates(name, dates(name, value));
      case QUANTITY ->
          new Query.Measures(
              name,
              split(value, ',').stream().map(part -> SearchedAmount.read(name, part)).toList());
      case URI ->
          new Query.Uris(
              name, Set.copyOf(split(value, ',').stream().map(Searching::unescaped).toList()));
      case REFERENCE ->
          asked.isSubject()
              ? new Query.About(targets(asked, value))
              : new Query.Uris(name, targets(asked, value));
    };
  }

  private Set<String> targets(Asked asked, String value) {
    Set<String> any = new LinkedHashSet<>();
    for (String part : split(value, ',')) {
      String text = unescaped(part);
      if (text.contains("/") || text.contains(":") || asked.targets().isEmpty()) {
        any.add(references.normal(text));
      } else {
        asked.targets().forEach(target -> any.add(target + "/" + text));
      }
    }
    return any;
  }

  /** Reads codes that are asked for. */
  static Query.Tokens tokens(String name, String value) {
    return new Query.Tokens(name, split(value, ',').stream().map(v -> token(name, v)).toList());
  }

  private static Query.TokenTest token(String name, String value) {
    List<String> parts = split(value, '|');
    if (parts.size() > 2 || value.isEmpty() || value.equals("|")) {
      throw Problem.of(
          Problem.Kind.BAD_REQUEST,
          "A code is asked for as code, system|code, |code or system|.",
          name);
    }
    if (parts.size() == 1) {
      return new Query.TokenTest(Optional.empty(), Optional.of(unescaped(parts.get(0))));
    }
    String code = unescaped(parts.get(1));
    return new Query.TokenTest(
        Optional.of(unescaped(parts.get(0))),
        code.isEmpty() ? Optional.empty() : Optional.of(code));
  }

  /** Reads times that are asked for. */
  static List<Query.DateTest> dates(String name, String value) {
    return split(value, ',').stream().map(part -> date(name, part)).toList();
  }

  private static Query.DateTest date(String name, String value) {
    boolean prefixed = value.length() > 2 && Character.isLetter(value.charAt(0));
    String prefix = prefixed ? value.substring(0, 2) : "eq";
    String text = (prefixed ? value.substring(2) : value).replace(' ', '+');
    TimeSpan span =
        TimeSpan.parse(text)
            .orElseThrow(
                () ->
                    Problem.of(
                        Problem.Kind.BAD_REQUEST,
                        "A time is asked for as 2026-03-02 or 2026-03-02T18:00:00Z, with eq, ne, gt,"
                            + " lt, ge, le, sa, eb or ap before it.",
                        name));
    Query.Comparison comparison =
        switch (prefix) {
          case "eq" -> Query.Comparison.WITHIN;
          case "ne" -> Query.Comparison.NOT_WITHIN;
          case "gt" -> Query.Comparison.ENDS_AFTER;
          case "lt" -> Query.Comparison.BEGINS_BEFORE;
          case "ge" -> Query.Comparison.WITHIN_OR_ENDS_AFTER;
          case "le" -> Query.Comparison.WITHIN_OR_BEGINS_BEFORE;
          case "sa" -> Query.Comparison.BEGINS_AFTER;
          case "eb" -> Query.Comparison.ENDS_BEFORE;
          case "ap" -> Query.Comparison.OVERLAPS;
          default ->
              throw Problem.of(
                  Problem.Kind.BAD_REQUEST, "The prefix '" + prefix + "' is not known.", name);
        };
    long slack = comparison == Query.Comparison.OVERLAPS ? DAY_MS : 0;
    return new Query.DateTest(comparison, span.lowMs() - slack, span.highMs() + slack);
  }

  private List<Query.Sort> sort(String type, String value) {
    List<Query.Sort> sort = new ArrayList<>();
    String[] keys = value.split(",", -1);
    if (keys.length > MOST_SORTED) {
      throw Problem.of(
          Problem.Kind.BAD_REQUEST,
          "A result is sorted by at most " + MOST_SORTED + " keys.",
          "_sort");
    }
    for (String key : keys) {
      boolean down = key.startsWith("-");
      sort.add(sort(type, down ? key.substring(1) : key, down));
    }
    return sort;
  }

  private Query.Sort sort(String type, String by, boolean down) {
    if (by.equals("_id")) {
      return Query.Sort.by(Query.Order.ID, down);
    }
    if (by.equals("_lastUpdated")) {
      return Query.Sort.by(Query.Order.UPDATED, down);
    }
    List<String> happened = parameters.happened(type);
    if (!happened.isEmpty() && happened.get(0).equals(by)) {
      return Query.Sort.by(Query.Order.HAPPENED, down);
    }
    SearchParameters.Form form =
        parameters
            .find(type, by)
            .map(SearchParameters.Parameter::form)
            .filter(SearchParameters.Form::isOrdered)
            .orElseThrow(() -> notSorted(type));
    return new Query.Sort(
        form == SearchParameters.Form.DATE ? Query.Order.DATE : Query.Order.CODE, by, down);
  }

  private Problem notSorted(String type) {
    return Problem.of(
        Problem.Kind.UNKNOWN_PARAMETER,
        "%s can be sorted by: _id, _lastUpdated, %s."
            .formatted(
                type,
                parameters.of(type).stream()
                    .filter(parameter -> parameter.form().isOrdered())
                    .map(SearchParameters.Parameter::name)
                    .sorted()
                    .collect(Collectors.joining(", "))),
        "_sort");
  }

  /** An identifier as a search writes it, with its system. */
  static String token(Identifier identifier) {
    return escaped(identifier.getSystem()) + "|" + escaped(identifier.getValue());
  }

  /** A text as a search writes it, where a comma, a bar and a dollar mean something. */
  private static String escaped(String text) {
    return text.replaceAll("([\\\\,|$])", "\\\\$1");
  }

  /** Splits at a separator that is not escaped; the parts keep their escapes. */
  static List<String> split(String value, char separator) {
    List<String> parts = new ArrayList<>();
    StringBuilder part = new StringBuilder();
    for (int i = 0; i < value.length(); i++) {
      char c = value.charAt(i);
      if (c == '\\' && i + 1 < value.length()) {
        part.append(c).append(value.charAt(++i));
      } else if (c == separator) {
        parts.add(part.toString());
        part.setLength(0);
      } else {
        part.append(c);
      }
    }
    parts.add(part.toString());
    return parts;
  }

  static String unescaped(String part) {
    return part.replaceAll("\\\\([,|$\\\\])", "$1");
  }
}

package org.tidemark.application;

import jakarta.enterprise.context.ApplicationScoped;
import java.nio.charset.StandardCharsets;
import java.util.ArrayList;
import java.util.Base64;
import java.util.LinkedHashSet;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.Set;
import java.util.stream.Collectors;
import org.tidemark.fhir.Problem;
import org.tidemark.fhir.References;
import org.tidemark.fhir.SearchParameters;
import org.tidemark.fhir.TimeSpan;
import org.tidemark.store.Query;

/** Reads a FHIR search into a query of the store. Anything that is not declared is refused. */
@ApplicationScoped
public class Searching {
  /** The records of a page when the client does not say. */
  public static final int USUAL_COUNT = 50;

  /** The most records of a page; a client that asks for more gets so many. */
  public static final int MOST_COUNT = 500;

  private static final long DAY_MS = 86_400_000L;

  private final SearchParameters parameters;
  private final References references;

  Searching(SearchParameters parameters, References references) {
    this.parameters = parameters;
    this.references = references;
  }

  /**
   * Reads a search.
   *
   * @param type the type searched
   * @param given the parameters with their values, undecoded by FHIR's rules
   * @return the query; its limit is the page's count
   * @throws Problem when a parameter is not declared, or a value cannot be understood
   */
  Query read(String type, Map<String, List<String>> given) {
    Set<String> subjects = null;
    List<Query.Criterion> criteria = new ArrayList<>();
    Query.Order order =
        parameters.happened(type).isEmpty() ? Query.Order.UPDATED : Query.Order.HAPPENED;
    boolean newestFirst = true;
    Optional<Query.Cursor> after = Optional.empty();
    int limit = USUAL_COUNT;
    for (Map.Entry<String, List<String>> entry : given.entrySet()) {
      for (String value : entry.getValue()) {
        switch (entry.getKey()) {
          case "_count" -> limit = count(value);
          case "_cursor" -> after = Optional.of(cursor(value));
          case "_sort" -> {
            newestFirst = value.startsWith("-");
            order = order(type, newestFirst ? value.substring(1) : value);
          }
          case "_total", "_summary" -> {}
          case "_id" -> criteria.add(new Query.Ids(Set.copyOf(split(value, ','))));
          case "_lastUpdated" -> criteria.add(new Query.Updated(dates("_lastUpdated", value)));
          default -> {
            Asked asked = asked(type, entry.getKey());
            if (asked.isSubject(type)) {
              Set<String> people = targets(asked, value);
              subjects = subjects == null ? people : common(subjects, people);
            } else {
              criteria.add(criterion(asked, value));
            }
          }
        }
      }
    }
    if (subjects != null && subjects.isEmpty()) {
      criteria.add(new Query.Ids(Set.of("")));
    }
    return new Query(
        type, subjects == null ? Set.of() : subjects, criteria, order, newestFirst, after, limit);
  }

  /**
   * The text that brings a client to the next page.
   *
   * @param place the last record of the page before
   * @return the value of {@code _cursor}
   */
  static String cursor(Query.Cursor place) {
    return Base64.getUrlEncoder()
        .withoutPadding()
        .encodeToString((place.key() + " " + place.id()).getBytes(StandardCharsets.UTF_8));
  }

  private static Query.Cursor cursor(String value) {
    try {
      String text = new String(Base64.getUrlDecoder().decode(value), StandardCharsets.UTF_8);
      int space = text.indexOf(' ');
      return new Query.Cursor(
          Long.parseLong(text.substring(0, Math.max(space, 0))), text.substring(space + 1));
    } catch (IllegalArgumentException e) {
      throw Problem.of(
          Problem.Kind.BAD_REQUEST, "The page is not one that this server gave out.", "_cursor");
    }
  }

  /** A parameter as it was asked for: {@code subject:Patient}. */
  private record Asked(SearchParameters.Parameter parameter, Set<String> targets) {
    boolean isSubject(String type) {
      return IndexedRecord.hasOneSubject(type)
          && (parameter.name().equals("patient") || parameter.name().equals("subject"));
    }
  }

  private Asked asked(String type, String name) {
    int colon = name.indexOf(':');
    String plain = colon < 0 ? name : name.substring(0, colon);
    SearchParameters.Parameter parameter =
        parameters
            .find(type, plain)
            .orElseThrow(
                () ->
                    Problem.of(
                        Problem.Kind.UNKNOWN_PARAMETER,
                        "%s has no search parameter '%s' here. It has: _id, _lastUpdated, %s."
                            .formatted(
                                type,
                                plain,
                                parameters.of(type).stream()
                                    .map(SearchParameters.Parameter::name)
                                    .sorted()
                                    .collect(Collectors.joining(", "))),
                        name));
    Set<String> targets = plain.equals("patient") ? Set.of("Patient") : parameter.targets();
    if (colon >= 0) {
      String modifier = name.substring(colon + 1);
      if (!targets.contains(modifier)) {
        throw Problem.of(
            Problem.Kind.UNKNOWN_PARAMETER,
            "The modifier ':" + modifier + "' is not offered.",
            name);
      }
      targets = Set.of(modifier);
    }
    return new Asked(parameter, targets);
  }

  private Query.Criterion criterion(Asked asked, String value) {
    String name = asked.parameter().name();
    return switch (asked.parameter().form()) {
      case TOKEN ->
          new Query.Tokens(name, split(value, ',').stream().map(v -> token(name, v)).toList());
      case DATE -> new Query.Dates(name, dates(name, value));
      case URI ->
          new Query.Uris(
              name, Set.copyOf(split(value, ',').stream().map(Searching::unescaped).toList()));
      case REFERENCE -> new Query.Uris(name, targets(asked, value));
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

  private static Set<String> common(Set<String> one, Set<String> other) {
    Set<String> both = new LinkedHashSet<>(one);
    both.retainAll(other);
    return both;
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

  private static List<Query.DateTest> dates(String name, String value) {
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

  private Query.Order order(String type, String by) {
    if (by.equals("_id")) {
      return Query.Order.ID;
    }
    if (by.equals("_lastUpdated")) {
      return Query.Order.UPDATED;
    }
    List<String> happened = parameters.happened(type);
    if (!happened.isEmpty() && happened.get(0).equals(by)) {
      return Query.Order.HAPPENED;
    }
    throw Problem.of(
        Problem.Kind.BAD_REQUEST,
        "%s can be sorted by one of _id, _lastUpdated%s."
            .formatted(type, happened.isEmpty() ? "" : ", " + happened.get(0)),
        "_sort");
  }

  /** Reads {@code _count}. */
  static int count(String value) {
    try {
      int count = Integer.parseInt(value);
      if (count >= 0) {
        return Math.min(count, MOST_COUNT);
      }
    } catch (NumberFormatException notANumber) {
      // Refused below, like a negative one.
    }
    throw Problem.of(
        Problem.Kind.BAD_REQUEST, "_count must be a whole number, 0 or more.", "_count");
  }

  /** Splits at a separator that is not escaped; the parts keep their escapes. */
  private static List<String> split(String value, char separator) {
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

  private static String unescaped(String part) {
    return part.replaceAll("\\\\([,|$\\\\])", "$1");
  }
}

package org.tidemark.access;

import java.net.URLDecoder;
import java.nio.charset.StandardCharsets;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.EnumSet;
import java.util.List;
import java.util.Optional;
import java.util.Set;
import java.util.regex.Matcher;
import java.util.regex.Pattern;
import java.util.stream.Collectors;

/**
 * One scope for records, of version 2 of SMART ({@code patient/Observation.rs?category=exam}) or of
 * version 1 ({@code patient/Observation.read}).
 *
 * @param context whose records
 * @param type a type, or {@link #ANY}
 * @param actions what is allowed, at least one
 * @param conditions what a record must match besides, all of them
 */
public record Scope(Context context, String type, Set<Action> actions, List<Condition> conditions) {

  /** Stands for every type. */
  public static final String ANY = "*";

  /** The letters come in their order, so that {@code .read} is never read as {@code .rd}. */
  private static final Pattern FORM =
      Pattern.compile(
          "(?<context>patient|user|system)/(?<type>\\*|[A-Z][A-Za-z]{1,39})\\."
              + "(?:(?<one>read|write|\\*)|(?<two>c?r?u?d?s?)(?:\\?(?<conditions>.+))?)");

  /** Parameters without modifiers and chains, which the standard calls experimental. */
  private static final Pattern PARAMETER = Pattern.compile("[a-z][a-z\\-]{0,39}");

  /** Whose records a scope is about. */
  public enum Context {
    /** Those of the one person that the token names. */
    PATIENT,
    /** What the user may see. */
    USER,
    /** What the system may see. */
    SYSTEM
  }

  /**
   * A search that a record must match.
   *
   * @param parameter a search parameter
   * @param value its value, in FHIR's search syntax
   */
  public record Condition(String parameter, String value) {}

  /** Copies the collections. */
  public Scope {
    actions = Set.copyOf(actions);
    conditions = List.copyOf(conditions);
  }

  /**
   * Reads a scope.
   *
   * @param text one scope of a token
   * @return the scope; empty for what is no scope for records, or not in the form that the standard
   *     gives it, which grants nothing
   */
  public static Optional<Scope> parse(String text) {
    Matcher form = FORM.matcher(text);
    if (!form.matches()) {
      return Optional.empty();
    }
    Set<Action> actions =
        form.group("one") == null ? letters(form.group("two")) : words(form.group("one"));
    Context context = Context.valueOf(form.group("context").toUpperCase(java.util.Locale.ROOT));
    return conditions(form.group("conditions"))
        .filter(conditions -> !actions.isEmpty())
        .map(conditions -> new Scope(context, form.group("type"), actions, conditions));
  }

  private static Set<Action> letters(String letters) {
    return Arrays.stream(Action.values())
        .filter(action -> letters.indexOf(action.letter()) >= 0)
        .collect(Collectors.toCollection(() -> EnumSet.noneOf(Action.class)));
  }

  /** What the words of version 1 mean in version 2. */
  private static Set<Action> words(String word) {
    return switch (word) {
      case "read" -> EnumSet.of(Action.READ, Action.SEARCH);
      case "write" -> EnumSet.of(Action.CREATE, Action.UPDATE, Action.DELETE);
      default -> EnumSet.allOf(Action.class);
    };
  }

  private static Optional<List<Condition>> conditions(String query) {
    List<Condition> conditions = new ArrayList<>();
    for (String pair : query == null ? new String[0] : query.split("&", -1)) {
      int equals = pair.indexOf('=');
      if (equals < 0
          || equals == pair.length() - 1
          || !PARAMETER.matcher(pair.substring(0, equals)).matches()) {
        return Optional.empty();
      }
      try {
        String value = pair.substring(equals + 1).replace("+", "%2B");
        conditions.add(
            new Condition(
                pair.substring(0, equals), URLDecoder.decode(value, StandardCharsets.UTF_8)));
      } catch (IllegalArgumentException notDecoded) {
        return Optional.empty();
      }
    }
    return Optional.of(conditions);
  }

  /**
   * Whether others allow all that it allows. Together they do when each action is allowed by one.
   */
  public boolean within(List<Scope> others) {
    return actions.stream()
        .allMatch(action -> others.stream().anyMatch(other -> isNarrower(other, action)));
  }

  private boolean isNarrower(Scope other, Action action) {
    return other.context == context
        && other.covers(action, type)
        && conditions.containsAll(other.conditions);
  }

  /** Whether it is about a type and an action. */
  boolean covers(Action action, String wanted) {
    return actions.contains(action) && (type.equals(ANY) || type.equals(wanted));
  }
}

package org.tidemark.store;

import java.io.IOException;
import java.io.UncheckedIOException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.HashMap;
import java.util.HashSet;
import java.util.List;
import java.util.Locale;
import java.util.Map;
import java.util.Set;
import java.util.TreeSet;
import java.util.regex.Matcher;
import java.util.regex.Pattern;
import java.util.stream.Collectors;
import java.util.stream.Stream;

/**
 * Looks whether a statement names the clinic of each table that it touches: every occurrence of a
 * table with a clinic must be tied, by {@code clinic = ?} or through another table that is, and a
 * row that is written must be given one.
 */
final class ClinicTies {
  private static final Path MIGRATIONS = Path.of("src/main/resources/db/migration");

  /** Every table has a clinic; {@code SchemaTest} holds the migrations to that. */
  static final Set<String> TABLES = tables();

  private static final Set<String> NO_ALIAS =
      Set.of(
          "where", "set", "on", "order", "group", "values", "select", "left", "right", "inner",
          "join", "cross", "union", "for", "fetch", "limit", "using", "when", "default", "as");

  private static final String VALUE =
      "(?:\\?\\d*|:\\w+|\\$\\d+|'[^']*'|cast\\s*\\(\\s*\\?|(?:(\\w+)\\.)?(?<column>clinic))";
  private static final Pattern TIE =
      Pattern.compile("(?:(\\w+)\\.)?\\bclinic\\s*=\\s*\\(?\\s*" + VALUE);
  private static final Pattern LIST =
      Pattern.compile("(?:(\\w+)\\.)?\\bclinic\\s+in\\s*\\(\\s*\\?");
  private static final Pattern PAIRS =
      Pattern.compile(
          "\\(\\s*(?:(\\w+)\\.)?clinic\\s*,[^()]*\\)\\s*(?:in\\s*\\(\\s*\\(|=\\s*\\()\\s*\\?");
  private static final Pattern TOUCHED =
      Pattern.compile(
          "(\\b(?:from|join|update|table)\\s+|,\\s*|\\binto\\s+)("
              + String.join("|", TABLES)
              + ")\\b(?!\\.)(?:\\s+(?:as\\s+)?(\\w+))?");
  private static final Pattern COLUMNS =
      Pattern.compile("\\binto\\s+\\w+(?:\\s+(?:as\\s+)?\\w+)?\\s*\\(([^)]*)\\)\\s*(\\w+)([^,)]*)");

  private ClinicTies() {}

  private static Set<String> tables() {
    Pattern made = Pattern.compile("(?i)create table (\\w+)");
    try (Stream<Path> files = Files.list(MIGRATIONS)) {
      Set<String> tables = new TreeSet<>();
      for (Path file : files.toList()) {
        Matcher table = made.matcher(Files.readString(file));
        while (table.find()) {
          tables.add(table.group(1).toLowerCase(Locale.ROOT));
        }
      }
      return tables;
    } catch (IOException e) {
      throw new UncheckedIOException(e);
    }
  }

  /** The tables whose clinic a statement does not name; empty when all is well. */
  static List<String> untied(String statement) {
    String sql = statement.toLowerCase(Locale.ROOT).replaceAll("\\s+", " ").replace("\"", "");
    List<String> untied = new ArrayList<>();
    Map<String, String> tables = new HashMap<>();
    List<String> bare = new ArrayList<>();
    Matcher touched = TOUCHED.matcher(sql);
    while (touched.find()) {
      String table = touched.group(2);
      String alias = touched.group(3);
      boolean named = alias != null && !NO_ALIAS.contains(alias);
      if (touched.group(1).startsWith("into") && !sql.startsWith("merge")) {
        if (!isGiven(sql.substring(touched.start()))) {
          untied.add(table);
        }
      } else if (named) {
        tables.put(alias, table);
      } else {
        bare.add(table);
      }
    }
    Ties ties = Ties.of(sql, tables.keySet());
    List<String> left = new ArrayList<>(tables.keySet());
    left.removeIf(ties::isTied);
    bare.removeIf(ties::isTied);
    // What is tied without an alias may be any table, but only one and what is tied to that.
    if (ties.groups(left) + bare.size() > ties.bare) {
      left.forEach(alias -> untied.add(tables.get(alias)));
      untied.addAll(bare);
    }
    return untied;
  }

  /** A row that is inserted has a clinic: one that was given, or that of the row it comes from. */
  private static boolean isGiven(String insert) {
    Matcher columns = COLUMNS.matcher(insert);
    if (!columns.find()) {
      return false;
    }
    int place =
        List.of(columns.group(1).split("\\s*,\\s*")).stream()
            .map(String::strip)
            .collect(Collectors.toList())
            .indexOf("clinic");
    boolean copied = columns.group(2).equals("select");
    return place >= 0
        && (!copied
            || (place == 0 && columns.group(3).strip().matches("(\\w+\\.)?clinic|\\?|:\\w+")));
  }

  /**
   * What ties tables.
   *
   * @param tied the aliases that are tied to a value
   * @param pairs the aliases that are tied to each other
   * @param bare how many ties to a value name no alias
   */
  private record Ties(Set<String> tied, List<Set<String>> pairs, int bare) {
    static Ties of(String sql, Set<String> aliases) {
      Set<String> tied = new HashSet<>();
      List<Set<String>> pairs = new ArrayList<>();
      int bare = 0;
      for (Pattern pattern : List.of(TIE, LIST, PAIRS)) {
        Matcher tie = pattern.matcher(sql);
        while (tie.find()) {
          String one = tie.group(1);
          boolean another = pattern == TIE && tie.group("column") != null;
          if (another && one != null && tie.group(2) != null) {
            pairs.add(new HashSet<>(List.of(one, tie.group(2))));
          } else if (one == null) {
            bare++;
          } else if (!another) {
            tied.add(one);
          }
        }
      }
      // A derived table's own statement is looked at where it stands.
      pairs.stream()
          .flatMap(Set::stream)
          .filter(name -> !aliases.contains(name) && !TABLES.contains(name))
          .forEach(tied::add);
      while (pairs.stream()
          .anyMatch(pair -> pair.stream().anyMatch(tied::contains) && tied.addAll(pair))) {
        continue;
      }
      return new Ties(tied, pairs, bare);
    }

    boolean isTied(String name) {
      return tied.contains(name);
    }

    /** How many groups some aliases make that are tied to each other. */
    int groups(List<String> left) {
      List<Set<String>> groups = new ArrayList<>();
      for (String alias : left) {
        Set<String> group = new HashSet<>(Set.of(alias));
        while (pairs.stream()
            .anyMatch(pair -> pair.stream().anyMatch(group::contains) && group.addAll(pair))) {
          continue;
        }
        if (!groups.contains(group)) {
          groups.add(group);
        }
      }
      return groups.size();
    }
  }
}

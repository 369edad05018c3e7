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
      "(?:\\?\\d*|:\\w+|\\$\\d+|'[^']*'|cast\\s*\\(\\s*\\?|(?:(\\w+)\\.)?clinic)";
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
    List<String> left = new ArrayList<>();
    tables.keySet().stream()
        .filter(alias -> !ties.isTied(alias))
        .map(tables::get)
        .forEach(left::add);
    bare.removeIf(table -> ties.isTied(table));
    left.addAll(bare);
    // What is tied without an alias may be any of these, but only one each.
    if (left.size() > ties.bare) {
      untied.addAll(left);
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

  /** Which aliases are tied to a value. */
  private record Ties(Set<String> tied, int bare) {
    static Ties of(String sql, Set<String> aliases) {
      Set<String> tied = new HashSet<>();
      List<String[]> pairs = new ArrayList<>();
      int bare = 0;
      for (Pattern pattern : List.of(TIE, LIST, PAIRS)) {
        Matcher tie = pattern.matcher(sql);
        while (tie.find()) {
          String one = tie.group(1);
          boolean another = pattern == TIE && tie.group().endsWith("clinic");
          String other = another ? String.valueOf(tie.group(2)) : null;
          if (another) {
            pairs.add(new String[] {String.valueOf(one), other});
          } else if (one == null) {
            bare++;
          } else {
            tied.add(one);
          }
        }
      }
      // A derived table's own statement is looked at where it stands.
      pairs.stream()
          .flatMap(Stream::of)
          .filter(name -> !aliases.contains(name) && !TABLES.contains(name) && !name.equals("null"))
          .forEach(tied::add);
      boolean more = true;
      while (more) {
        more = false;
        for (String[] pair : pairs) {
          more |= tied.contains(pair[0]) && tied.add(pair[1]);
          more |= tied.contains(pair[1]) && tied.add(pair[0]);
        }
      }
      // An alias that is tied to a table without one is tied as well as that is.
      int[] through = {bare};
      pairs.stream()
          .filter(pair -> pair[0].equals("null") || pair[1].equals("null"))
          .forEach(pair -> through[0]++);
      return new Ties(tied, through[0]);
    }

    boolean isTied(String name) {
      return tied.contains(name);
    }
  }
}

package org.tidemark;

import static org.junit.jupiter.api.Assertions.assertEquals;

import java.io.IOException;
import java.io.InputStream;
import java.nio.charset.StandardCharsets;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.SortedMap;
import java.util.SortedSet;
import java.util.TreeMap;
import java.util.TreeSet;
import java.util.regex.Matcher;
import java.util.regex.Pattern;
import java.util.stream.Stream;
import org.junit.jupiter.api.Test;

/**
 * Every case of the list beside this class has a test that is named after it: a method called
 * {@code case15…}, or {@code case05And06…} for several.
 */
class CasesTest {
  private static final Path SOURCES = Path.of("src/test/java");
  private static final Pattern LISTED = Pattern.compile("(?m)^(\\d+) \\S");
  private static final Pattern NAMED =
      Pattern.compile("(?:void|Stream<DynamicTest>) case(\\d+(?:And\\d+)*)[A-Z]");

  @Test
  void eachHasATestOfItsName() throws IOException {
    SortedSet<Integer> listed = new TreeSet<>();
    try (InputStream list = CasesTest.class.getResourceAsStream("cases.txt")) {
      Matcher line = LISTED.matcher(new String(list.readAllBytes(), StandardCharsets.UTF_8));
      while (line.find()) {
        listed.add(Integer.parseInt(line.group(1)));
      }
    }
    assertEquals(84, listed.size());
    assertEquals(listed, named().keySet());
  }

  private static SortedMap<Integer, SortedSet<String>> named() throws IOException {
    SortedMap<Integer, SortedSet<String>> named = new TreeMap<>();
    try (Stream<Path> files = Files.walk(SOURCES)) {
      for (Path file : files.filter(path -> path.toString().endsWith("Test.java")).toList()) {
        Matcher method = NAMED.matcher(Files.readString(file));
        while (method.find()) {
          for (String number : method.group(1).split("And")) {
            named
                .computeIfAbsent(Integer.parseInt(number), n -> new TreeSet<>())
                .add(file.getFileName() + " " + method.group());
          }
        }
      }
    }
    return named;
  }
}

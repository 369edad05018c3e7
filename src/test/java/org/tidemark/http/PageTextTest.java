package org.tidemark.http;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;

import java.io.IOException;
import java.io.Reader;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.List;
import java.util.Locale;
import java.util.Properties;
import java.util.regex.MatchResult;
import java.util.regex.Pattern;
import java.util.stream.Stream;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.EnumSource;
import org.tidemark.application.Need;
import org.tidemark.fhir.Matter;

/** The pages say the same in every language. */
class PageTextTest {
  private static final Path FOLDER = Path.of("src/main/resources/org/tidemark/http");
  private static final Pattern FILLED = Pattern.compile("\\{\\d+");

  @Test
  void everyTextIsThereInGermanAndFillsInTheSame() throws IOException {
    Properties english = texts("page.properties");
    Properties german = texts("page_de.properties");
    assertEquals(english.stringPropertyNames(), german.stringPropertyNames());
    for (String key : english.stringPropertyNames()) {
      assertEquals(filled(english.getProperty(key)), filled(german.getProperty(key)), key);
    }
  }

  @ParameterizedTest
  @EnumSource(Need.class)
  void everyNeedHasItsWords(Need need) {
    assertFalse(new PageText(Locale.GERMAN).of("need." + need.code()).isBlank());
  }

  @Test
  void everyMatterHasItsWords() {
    Stream.of(Matter.values())
        .filter(matter -> matter != Matter.OVERDUE)
        .forEach(
            matter -> {
              PageText text = new PageText(Locale.ENGLISH);
              assertFalse(text.of("ask." + matter.code()).isBlank());
              assertFalse(text.of("hint." + matter.code()).isBlank());
            });
  }

  @Test
  void aTextThatCountsIsRightForNoneOneAndMany() {
    PageText text = new PageText(Locale.ENGLISH);
    assertEquals("No plans, page 1 of 1", text.of("caseload.found", 0, 1, 1));
    assertEquals("1 plan, page 1 of 1", text.of("caseload.found", 1, 1, 1));
    assertEquals("51 plans, page 2 of 2", text.of("caseload.found", 51, 2, 2));
  }

  private static Properties texts(String file) throws IOException {
    Properties texts = new Properties();
    try (Reader reader = Files.newBufferedReader(FOLDER.resolve(file))) {
      texts.load(reader);
    }
    return texts;
  }

  private static List<String> filled(String text) {
    return FILLED.matcher(text).results().map(MatchResult::group).sorted().distinct().toList();
  }
}

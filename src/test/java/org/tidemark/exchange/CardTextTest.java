package org.tidemark.exchange;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.io.IOException;
import java.io.InputStream;
import java.io.InputStreamReader;
import java.nio.charset.StandardCharsets;
import java.util.Arrays;
import java.util.List;
import java.util.Locale;
import java.util.Properties;
import java.util.Set;
import java.util.TreeSet;
import java.util.regex.MatchResult;
import java.util.regex.Pattern;
import java.util.stream.Collectors;
import org.hl7.fhir.r4.model.CodeSystem;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.tidemark.fhir.ProfileFiles;

/** Words of others on a card, and the texts of cards in each language. */
class CardTextTest {
  private static final Pattern FILLED = Pattern.compile("\\{\\d}");

  /** GitHub Flavored Markdown: backslash escapes, autolinks, list items, headings, raw HTML. */
  @ParameterizedTest
  @CsvSource(
      delimiter = '|',
      value = {
        "at most 60° | at most 60°",
        "*a* _b_ `c` | \\*a\\* \\_b\\_ \\`c\\`",
        "<img src=x> | \\<img src=x\\>",
        "&lt; | \\&lt;",
        "[a](b) ![c](d) | \\[a\\](b) \\!\\[c\\](d)",
        "# not a heading | \\# not a heading",
        "- not an item | \\- not an item",
        "1. not an item | 1\\. not an item",
        "12) not an item | 12\\) not an item",
        "0.5 kg at most | 0\\.5 kg at most",
        "see www.a.example | see www\\.a.example",
        "see https://a.example | see https\\://a.example",
        "a\\b | a\\\\b",
        "a@b.example | a\\@b.example"
      })
  void nothingInATextIsMarkup(String text, String escaped) {
    assertEquals(escaped, CardText.plain(text));
  }

  @Test
  void linesAndControlsBecomeSpaces() {
    assertEquals("a b c d", CardText.line(" a\r\n\tb\u0007\u2028c\u00a0d\n"));
  }

  /** Card Attributes: a summary has fewer than 140 characters. */
  @Test
  void aSummaryIsCutOff() {
    assertEquals("a".repeat(139), CardText.summary("a".repeat(139)));
    assertEquals("a".repeat(138) + "…", CardText.summary("a".repeat(140)));
    assertEquals("a".repeat(137) + "…", CardText.summary("a".repeat(137) + "😀".repeat(3)));
  }

  @Test
  void aTranslationHasEveryTextAndFillsInTheSame() throws IOException {
    Properties english = texts("cards.properties");
    Properties german = texts("cards_de.properties");
    assertEquals(english.stringPropertyNames(), german.stringPropertyNames());
    for (String key : english.stringPropertyNames()) {
      assertEquals(filled(english.getProperty(key)), filled(german.getProperty(key)), key);
      for (Properties texts : List.of(english, german)) {
        assertTrue(
            !key.endsWith(".summary") || texts.getProperty(key).length() < 110,
            key + " leaves no room for what it is about");
        assertTrue(!texts.getProperty(key).replace("''", "").contains("'"), key);
      }
    }
  }

  @Test
  void everyReasonToOverrideIsPublishedAndNothingElseIs() {
    CodeSystem published =
        ProfileFiles.all(CodeSystem.class).stream()
            .filter(system -> system.getUrl().equals(OverrideReason.SYSTEM))
            .findFirst()
            .orElseThrow();
    assertEquals(
        Arrays.stream(OverrideReason.values())
            .map(reason -> reason.code() + " " + display(reason))
            .collect(Collectors.toSet()),
        published.getConcept().stream()
            .map(concept -> concept.getCode() + " " + concept.getDisplay())
            .collect(Collectors.toSet()));
  }

  private static String display(OverrideReason reason) {
    return CardDesk.texts(Locale.ENGLISH).of("override." + reason.code());
  }

  private static Set<String> filled(String text) {
    return FILLED
        .matcher(text)
        .results()
        .map(MatchResult::group)
        .collect(Collectors.toCollection(TreeSet::new));
  }

  private static Properties texts(String file) throws IOException {
    Properties texts = new Properties();
    try (InputStream bytes = CardText.class.getResourceAsStream(file)) {
      texts.load(new InputStreamReader(bytes, StandardCharsets.UTF_8));
    }
    return texts;
  }
}

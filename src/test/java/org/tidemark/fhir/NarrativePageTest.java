package org.tidemark.fhir;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.qute.TemplateException;
import java.io.IOException;
import java.io.StringReader;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayDeque;
import java.util.Arrays;
import java.util.Deque;
import java.util.EnumMap;
import java.util.List;
import java.util.Locale;
import java.util.Map;
import java.util.Set;
import java.util.TreeSet;
import java.util.regex.Matcher;
import java.util.regex.Pattern;
import java.util.stream.Collectors;
import java.util.stream.Stream;
import javax.xml.parsers.DocumentBuilderFactory;
import org.hl7.fhir.r4.model.Narrative;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.EnumSource;
import org.junit.jupiter.params.provider.MethodSource;
import org.junit.jupiter.params.provider.ValueSource;
import org.w3c.dom.Document;
import org.w3c.dom.Node;
import org.w3c.dom.NodeList;
import org.xml.sax.InputSource;

/** The templates of narratives: structure alone, in which every value is text. */
class NarrativePageTest {
  private static final Path FOLDER = Path.of("src/main/resources/templates/narrative");
  private static final Pattern INCLUDED = Pattern.compile("#include narrative/([a-z]+)");

  /** More than any record has questions. */
  private static final int ANSWERS = 16;

  private static final String EVIL =
      "<script>alert(1)</script> &\"' &amp;&#60; ]]> {t.language} <!--\r\n\t\u0000\u0001\u000B\uD800";

  /** What EVIL says to whoever reads XML: a line ends in one way, and some characters are none. */
  private static final String SAID =
      EVIL.replaceAll("[\\u0000\\u0001\\u000B\\uD800]", "\uFFFD").replace("\r\n", "\n");

  private static final Set<String> ELEMENTS = Set.of("div", "h2", "h3", "p", "b", "ul", "li", "br");

  private static final Map<NarrativePage, Class<? extends Record>> RECORDS = records();

  private static Map<NarrativePage, Class<? extends Record>> records() {
    Map<NarrativePage, Class<? extends Record>> records = new EnumMap<>(NarrativePage.class);
    records.put(NarrativePage.PLAN, PlanText.PlanSaid.class);
    records.put(NarrativePage.PRESCRIPTION, PlanText.PrescriptionSaid.class);
    records.put(NarrativePage.DECISION, PlanText.DecisionSaid.class);
    records.put(NarrativePage.GOAL, GoalWriter.GoalSaid.class);
    records.put(NarrativePage.FORECAST, ForecastWriter.ForecastSaid.class);
    records.put(NarrativePage.WARNING, ConcernWriter.WarningSaid.class);
    records.put(NarrativePage.TASK, TaskSaid.class);
    records.put(NarrativePage.PROVENANCE, ProvenanceWriter.ProvenanceSaid.class);
    records.put(NarrativePage.HANDOVER, HandoverWriter.HandoverSaid.class);
    records.put(NarrativePage.SECTION, HandoverWriter.SectionSaid.class);
    return records;
  }

  static Stream<Path> templates() throws IOException {
    return Files.list(FOLDER);
  }

  @ParameterizedTest
  @EnumSource(NarrativePage.class)
  void case47EveryValueIsShownAndNoneIsMarkup(NarrativePage page) throws Exception {
    Set<String> unseen = null;
    for (int yes = 0; yes < ANSWERS; yes++) {
      SaidSample sample = new SaidSample(EVIL, true, yes);
      Document shown = shown(page.narrative(Sample.TEXTS, sample.of(RECORDS.get(page))));
      String words = shown.getDocumentElement().getTextContent();
      unseen = unseen == null ? new TreeSet<>(sample.filled()) : unseen;
      unseen.removeIf(value -> words.contains(value.replace(EVIL, SAID)));
    }
    assertEquals(Set.of(), unseen);
  }

  @ParameterizedTest
  @EnumSource(NarrativePage.class)
  void whatMayBeLeftOutLeavesNothingBehind(NarrativePage page) throws Exception {
    for (int yes = 0; yes < ANSWERS; yes++) {
      Record said = new SaidSample("", false, yes).of(RECORDS.get(page));
      if (page != NarrativePage.SECTION) {
        Document shown = shown(page.narrative(Sample.TEXTS, said));
        assertFalse(shown.getDocumentElement().getTextContent().contains("null"));
        assertEquals(List.of(), childless(shown));
      }
    }
  }

  /** Elements without content, which show as a gap; the lists are never all empty. */
  private static List<String> childless(Document shown) {
    return elements(shown).stream()
        .filter(element -> !element.hasChildNodes())
        .filter(element -> !Set.of("br", "ul").contains(element.getNodeName()))
        .map(Node::getNodeName)
        .toList();
  }

  /** The narrative as a viewer reads it, once it has been stored and sent as JSON. */
  private static Document shown(Narrative narrative) throws Exception {
    assertEquals(Narrative.NarrativeStatus.GENERATED, narrative.getStatus());
    Narrative stored = new Narrative();
    stored.setDivAsString(narrative.getDivAsString());
    DocumentBuilderFactory factory = DocumentBuilderFactory.newInstance();
    factory.setNamespaceAware(true);
    String xml = stored.getDivAsString();
    Document shown = factory.newDocumentBuilder().parse(new InputSource(new StringReader(xml)));
    assertEquals("http://www.w3.org/1999/xhtml", shown.getDocumentElement().getNamespaceURI());
    for (Node element : elements(shown)) {
      assertTrue(ELEMENTS.contains(element.getNodeName()), element.getNodeName());
      boolean outermost = element == shown.getDocumentElement();
      assertEquals(outermost ? 3 : 0, element.getAttributes().getLength(), element.getNodeName());
    }
    return shown;
  }

  private static List<Node> elements(Document shown) {
    NodeList all = shown.getElementsByTagName("*");
    return Stream.iterate(0, i -> i < all.getLength(), i -> i + 1).map(all::item).toList();
  }

  @Test
  void everyTemplateIsUsed() throws IOException {
    Set<String> used = new TreeSet<>();
    Deque<String> open =
        Arrays.stream(NarrativePage.values())
            .map(page -> page.template().substring("narrative/".length()))
            .collect(Collectors.toCollection(ArrayDeque::new));
    while (!open.isEmpty()) {
      String name = open.pop();
      if (used.add(name)) {
        Matcher included = INCLUDED.matcher(Files.readString(FOLDER.resolve(name + ".html")));
        included.results().map(found -> found.group(1)).forEach(open::push);
      }
    }
    Set<String> there =
        templates()
            .map(file -> file.getFileName().toString().replace(".html", ""))
            .collect(Collectors.toCollection(TreeSet::new));
    assertEquals(there, used);
  }

  /** Words lie in the resource bundles. */
  @ParameterizedTest
  @MethodSource("templates")
  void aTemplateHasNoWordsOfItsOwn(Path file) throws IOException {
    String words = Files.readString(file).replaceAll("\\{[^}]*}", "").replaceAll("<[^>]*>", "");
    assertFalse(Pattern.compile("\\p{L}").matcher(words).find(), words);
  }

  @Test
  void aValueThatIsMissingIsAnError() {
    Record said = new SaidSample("", true, 0).of(NoTitle.class);
    assertThrows(TemplateException.class, () -> NarrativePage.TASK.narrative(Sample.TEXTS, said));
  }

  record NoTitle(String matter, String description) {}

  @Test
  void aValueCannotBeWrittenRaw() {
    assertThrows(
        TemplateException.class,
        () ->
            NarrativeTemplates.render(
                "narrative-raw", Sample.TEXTS, new TaskSaid("<b>", "<b>", "<b>")));
  }

  @ParameterizedTest
  @ValueSource(strings = {"<div>", "<div><p></div>", "<div>&nbsp;</div>", "<div/><div/>", ""})
  void whatIsNotWellFormedIsNoNarrative(String xhtml) {
    assertThrows(IllegalArgumentException.class, () -> XhtmlReader.read(xhtml));
  }

  /** The bundle is a file among the tests: only some of its texts are translated. */
  @Test
  void aFurtherLanguageIsAFurtherFile() throws Exception {
    PlanIdentity plan = Sample.plan(Sample.PROGRAMME, Locale.forLanguageTag("eo"));
    String words =
        shown(PlanText.decision(plan, Sample.progress())).getDocumentElement().getTextContent();
    assertTrue(words.contains("Kion fari nun"), words);
    assertTrue(words.contains("Laŭ la stato de 4. majo 2026, 07:30."), words);
    assertTrue(words.contains("17,5 cm"), words);
    assertTrue(words.contains("Considered and not taken") || words.contains("In figures:"), words);
  }
}

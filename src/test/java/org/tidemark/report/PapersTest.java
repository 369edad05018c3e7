package org.tidemark.report;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.awt.image.BufferedImage;
import java.io.IOException;
import java.io.InputStream;
import java.io.UncheckedIOException;
import java.nio.charset.StandardCharsets;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.List;
import java.util.Locale;
import java.util.ResourceBundle;
import java.util.TreeSet;
import javax.imageio.ImageIO;
import org.apache.pdfbox.Loader;
import org.apache.pdfbox.cos.COSName;
import org.apache.pdfbox.pdmodel.PDDocument;
import org.apache.pdfbox.pdmodel.PDPage;
import org.apache.pdfbox.pdmodel.documentinterchange.logicalstructure.PDStructureElement;
import org.apache.pdfbox.rendering.PDFRenderer;
import org.apache.pdfbox.text.PDFTextStripper;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.tidemark.decision.Chronicle;
import org.tidemark.decision.Told;
import org.tidemark.decision.Warning;

/**
 * What is printed says what the plan says, whole and legible to everyone. Each paper is left in
 * {@code target/papers}, with its pages as pictures.
 */
class PapersTest {
  private static final String LETTER = "8.5in 11in";
  private static final Path FOLDER = Path.of("target", "papers");

  /** A school year below which a text is for people of twelve. */
  private static final double TWELVE = 7;

  private static final Chronicle COURSE = Told.course(16, 1.7);
  private static final Chronicle YEAR = Told.year();
  private static final Chronicle STOPPED = Told.stopped(4);

  private static Chronicle chronicle(String name) {
    return switch (name) {
      case "course" -> COURSE;
      case "year" -> YEAR;
      case "stopped" -> STOPPED;
      default -> Told.incomplete();
    };
  }

  private static String text(PDDocument document) throws IOException {
    return new PDFTextStripper().getText(document).replaceAll("\\s+", " ");
  }

  /** Every sentence of the handout stands in its PDF, and the PDF is whole by PDF/UA-1. */
  @ParameterizedTest(name = "{0} {1}")
  @CsvSource({
    "course, en",
    "course, de",
    "year, en",
    "year, de",
    "stopped, en",
    "stopped, de",
    "incomplete, en",
    "incomplete, de"
  })
  void theHandoutIsPrintedWhole(String of, Locale locale) throws IOException {
    PaperPlan plan = Sheets.plan(chronicle(of), locale);
    Handout said = Handout.of(plan, locale);
    byte[] pdf =
        kept("handout-" + of + "-" + locale, Pdf.of(Sheets.handout(plan, locale, Sheets.A4)));
    try (PDDocument document = Loader.loadPDF(pdf)) {
      String text = text(document);
      List<String> sentences = new ArrayList<>(said.stop());
      said.exercises().forEach(e -> sentences.addAll(e.amount()));
      said.exercises().forEach(e -> sentences.addAll(e.settings()));
      said.exercises().forEach(e -> sentences.addAll(List.of(e.title(), e.how())));
      said.signs().forEach(signs -> sentences.addAll(signs.signs()));
      said.questions().forEach(question -> sentences.add(question.text()));
      sentences.addAll(said.limits());
      sentences.addAll(said.contact());
      assertTrue(sentences.size() > 12);
      sentences.forEach(s -> assertTrue(text.contains(s), () -> s + " is not in " + text));
      assertAccessible(document, pdf, locale, said.exercises().size());
      assertEquals(said.stop().isEmpty(), !text.contains(said.words().get("no-exercise")));
    }
  }

  @ParameterizedTest(name = "{0} {1} {2}")
  @CsvSource({
    "course, en, 210mm 297mm", "course, de, 210mm 297mm", "year, en, 210mm 297mm",
    "year, de, 210mm 297mm", "stopped, en, 210mm 297mm", "stopped, de, 210mm 297mm",
    "incomplete, de, 210mm 297mm", "year, de, 8.5in 11in", "course, de, 8.5in 11in"
  })
  void theReportIsOnePage(String of, Locale locale, String size) throws IOException {
    PaperPlan plan = Sheets.plan(chronicle(of), locale);
    Pdf pdf = null;
    ProgressReport said = null;
    for (ProgressReport.Room room : ProgressReport.Room.values()) {
      said = ProgressReport.of(plan, locale, room);
      pdf = Pdf.of(Sheets.report(plan, locale, size, room));
      if (pdf.pages() == 1) {
        break;
      }
    }
    String name = "report-" + of + "-" + locale + (size.equals(LETTER) ? "-letter" : "");
    try (PDDocument document = Loader.loadPDF(kept(name, pdf))) {
      assertEquals(1, document.getNumberOfPages());
      String text = text(document);
      List<String> sentences = new ArrayList<>(said.goals());
      sentences.addAll(said.change());
      sentences.addAll(said.asked());
      sentences.addAll(said.decisions());
      sentences.addAll(said.requests());
      sentences.addAll(List.of("Tomas Brandvik", said.born(), said.words().get("caution")));
      sentences.forEach(s -> assertTrue(text.contains(s), () -> s + " is not in " + text));
      assertAccessible(document, pdf.bytes(), locale, 1);
    }
  }

  private static void assertAccessible(PDDocument document, byte[] pdf, Locale locale, int pictures)
      throws IOException {
    assertEquals(List.of(), Ua.faults(pdf));
    assertEquals(locale.getLanguage(), document.getDocumentCatalog().getLanguage());
    assertTrue(document.getDocumentInformation().getTitle().endsWith("Tomas Brandvik"));
    List<PDStructureElement> tags = new ArrayList<>();
    document.getDocumentCatalog().getStructureTreeRoot().getKids().forEach(k -> tags(k, tags));
    List<PDStructureElement> figures =
        tags.stream().filter(tag -> tag.getStructureType().equals("Figure")).toList();
    assertEquals(pictures, figures.size());
    figures.forEach(figure -> assertTrue(figure.getAlternateDescription().length() > 20));
    assertTrue(tags.stream().anyMatch(tag -> tag.getStructureType().equals("H1")));
    assertTrue(tags.stream().filter(tag -> tag.getStructureType().equals("LI")).count() > 2);
    for (PDPage page : document.getPages()) {
      for (COSName name : page.getResources().getFontNames()) {
        assertTrue(page.getResources().getFont(name).isEmbedded());
      }
    }
  }

  private static void tags(Object kid, List<PDStructureElement> into) {
    if (kid instanceof PDStructureElement element) {
      into.add(element);
      element.getKids().forEach(child -> tags(child, into));
    }
  }

  /** The check bites: a page without language, title and description is refused. */
  @Test
  void whatIsNotAccessibleIsFound() {
    assertFalse(Ua.faults(Pdf.of("<html><body><p>Tomas</p></body></html>").bytes()).isEmpty());
  }

  @Test
  void underAStopTheHandoutSaysSoFirst() {
    PaperPlan plan = Sheets.plan(STOPPED, Locale.ENGLISH);
    List<String> lines = Readability.lines(Sheets.handout(plan, Locale.ENGLISH, Sheets.A4));
    assertEquals("No exercise for now", lines.get(3));
    assertEquals("See a clinician today.", lines.get(4));
    assertEquals(List.of(), Handout.of(plan, Locale.ENGLISH).exercises());
  }

  @ParameterizedTest
  @CsvSource({"draft", "on-hold", "completed", "revoked", "entered-in-error"})
  void aPlanThatIsNotRunningAsksForNothing(String status) {
    PaperPlan running = Sheets.plan(COURSE, Locale.ENGLISH);
    PaperPlan plan =
        new PaperPlan(
            running.programme(),
            running.side(),
            status,
            running.chronicle(),
            running.person(),
            running.clinic(),
            running.today());
    Handout said = Handout.of(plan, Locale.ENGLISH);
    assertEquals(1, said.stop().size());
    assertEquals(List.of(), said.exercises());
  }

  @Test
  void anEnglishHandoutIsForPeopleOfTwelve() {
    for (Chronicle chronicle : List.of(COURSE, YEAR, STOPPED)) {
      String page =
          Sheets.handout(Sheets.plan(chronicle, Locale.ENGLISH), Locale.ENGLISH, Sheets.A4);
      double grade = Readability.fleschKincaid(Readability.lines(page));
      assertTrue(grade <= TWELVE, "grade " + grade);
    }
    assertTrue(
        Readability.fleschKincaid(
                List.of(
                    "The patellofemoral articulation necessitates conservative progressive"
                        + " mobilisation, notwithstanding symptomatic exacerbation."))
            > 12);
  }

  @Test
  void aGermanHandoutIsForPeopleOfTwelve() {
    for (Chronicle chronicle : List.of(COURSE, YEAR, STOPPED)) {
      String page = Sheets.handout(Sheets.plan(chronicle, Locale.GERMAN), Locale.GERMAN, Sheets.A4);
      double grade = Readability.wienerSachtext(Readability.lines(page));
      assertTrue(grade <= TWELVE, "grade " + grade);
    }
  }

  /** A text that one language lacks would come in another. */
  @Test
  void bothLanguagesHaveEveryText() {
    ResourceBundle english = bundle(Locale.ROOT);
    TreeSet<String> german = new TreeSet<>(bundle(Locale.GERMAN).keySet());
    german.removeIf(key -> key.startsWith("item."));
    assertEquals(new TreeSet<>(english.keySet()), german);
    for (Warning sign : Warning.values()) {
      assertTrue(english.containsKey("sign." + sign.code()), sign.code());
    }
  }

  /** The keys of one file, without those of its parent. */
  private static ResourceBundle bundle(Locale locale) {
    String name = "/org/tidemark/report/paper" + (locale == Locale.ROOT ? "" : "_de");
    try (InputStream in = PapersTest.class.getResourceAsStream(name + ".properties")) {
      return new java.util.PropertyResourceBundle(
          new java.io.InputStreamReader(in, StandardCharsets.UTF_8));
    } catch (IOException e) {
      throw new UncheckedIOException(e);
    }
  }

  private static byte[] kept(String name, Pdf pdf) throws IOException {
    Files.createDirectories(FOLDER);
    Files.write(FOLDER.resolve(name + ".pdf"), pdf.bytes());
    try (PDDocument document = Loader.loadPDF(pdf.bytes())) {
      PDFRenderer pages = new PDFRenderer(document);
      for (int i = 0; i < document.getNumberOfPages(); i++) {
        BufferedImage picture = pages.renderImageWithDPI(i, 80);
        ImageIO.write(picture, "png", FOLDER.resolve(name + "-" + (i + 1) + ".png").toFile());
      }
    }
    return pdf.bytes();
  }
}

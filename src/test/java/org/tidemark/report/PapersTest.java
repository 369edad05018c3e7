package org.tidemark.report;

import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.qute.Engine;
import io.quarkus.qute.HtmlEscaper;
import io.quarkus.qute.ReflectionValueResolver;
import io.quarkus.qute.Variant;
import java.io.IOException;
import java.io.UncheckedIOException;
import java.nio.charset.StandardCharsets;
import java.nio.file.Files;
import java.nio.file.Path;
import java.time.LocalDate;
import java.util.List;
import java.util.Locale;
import java.util.Optional;
import org.junit.jupiter.api.Test;
import org.tidemark.decision.Chronicle;
import org.tidemark.decision.Told;
import org.tidemark.programme.Side;

/** What is printed. */
class PapersTest {
  private static final Engine ENGINE =
      Engine.builder()
          .addDefaults()
          .addValueResolver(new ReflectionValueResolver())
          .addValueResolver(io.quarkus.qute.ValueResolvers.rawResolver())
          .addResultMapper(new HtmlEscaper(List.of("text/html")))
          .build();

  @Test
  void written() throws IOException {
    Path folder = Path.of("target/papers");
    Files.createDirectories(folder);
    for (Locale locale : List.of(Locale.ENGLISH, Locale.GERMAN)) {
      for (var entry :
          java.util.Map.of(
                  "year",
                  Told.year(),
                  "course",
                  Told.course(16, 1.7),
                  "stopped",
                  Told.stopped(4),
                  "incomplete",
                  Told.incomplete())
              .entrySet()) {
        PaperPlan plan = plan(entry.getValue());
        String name = entry.getKey() + "-" + locale;
        Files.write(
            folder.resolve("handout-" + name + ".pdf"), Pdf.of(handout(plan, locale)).bytes());
        Files.writeString(folder.resolve("handout-" + name + ".html"), handout(plan, locale));
        Files.write(
            folder.resolve("report-" + name + ".pdf"), Pdf.of(report(plan, locale)).bytes());
      }
    }
    for (java.io.File f : folder.toFile().listFiles((d, n) -> n.endsWith(".pdf"))) {
      System.out.println(f.getName() + " " + Ua.faults(Files.readAllBytes(f.toPath())));
    }
    assertTrue(true);
  }

  static String handout(PaperPlan plan, Locale locale) {
    Handout said = Handout.of(plan, locale);
    return template("handout")
        .data("h", said)
        .data("t", said.words())
        .data("size", "210mm 297mm")
        .render();
  }

  static String report(PaperPlan plan, Locale locale) {
    ProgressReport said = ProgressReport.of(plan, locale, ProgressReport.Room.USUAL);
    return template("progress-report")
        .data("r", said)
        .data("t", said.words())
        .data("size", "210mm 297mm")
        .render();
  }

  private static io.quarkus.qute.TemplateInstance template(String name) {
    try (var in = PapersTest.class.getResourceAsStream("/templates/" + name + ".html")) {
      return ENGINE
          .parse(
              new String(in.readAllBytes(), StandardCharsets.UTF_8),
              Variant.forContentType("text/html"))
          .instance();
    } catch (IOException e) {
      throw new UncheckedIOException(e);
    }
  }

  static PaperPlan plan(Chronicle chronicle) {
    return new PaperPlan(
        Told.programme(),
        Side.LEFT,
        "active",
        chronicle,
        new PaperPlan.Person(Optional.of("Tomas Brandvik"), Optional.of(LocalDate.of(1971, 5, 3))),
        new PaperPlan.Clinic(
            "Practice at the Old Mill", List.of("+44 5550 0100", "1 Mill Lane, Thornwick")),
        LocalDate.of(2026, 6, 1));
  }
}

package org.tidemark.report;

import io.quarkus.qute.Engine;
import io.quarkus.qute.HtmlEscaper;
import io.quarkus.qute.ReflectionValueResolver;
import io.quarkus.qute.TemplateInstance;
import io.quarkus.qute.ValueResolvers;
import io.quarkus.qute.Variant;
import java.io.IOException;
import java.io.InputStream;
import java.io.UncheckedIOException;
import java.nio.charset.StandardCharsets;
import java.time.LocalDate;
import java.util.List;
import java.util.Locale;
import java.util.Optional;
import org.tidemark.decision.Chronicle;
import org.tidemark.decision.Told;
import org.tidemark.programme.Side;

/** The papers of a plan as pages, by the templates of the service but without it. */
public final class Sheets {
  public static final String A4 = "210mm 297mm";

  private static final Engine ENGINE =
      Engine.builder()
          .addDefaults()
          .addValueResolver(new ReflectionValueResolver())
          .addValueResolver(ValueResolvers.rawResolver())
          .addResultMapper(new HtmlEscaper(List.of("text/html")))
          .build();

  private Sheets() {}

  public static PaperPlan plan(Chronicle chronicle, Locale locale) {
    return new PaperPlan(
        Told.programme(locale),
        Side.LEFT,
        "active",
        chronicle,
        new PaperPlan.Person(Optional.of("Tomas Brandvik"), Optional.of(LocalDate.of(1971, 5, 3))),
        new PaperPlan.Clinic(
            "Practice at the Old Mill", List.of("+44 5550 0100", "1 Mill Lane, Thornwick")),
        LocalDate.of(2026, 6, 1));
  }

  public static String handout(PaperPlan plan, Locale locale, String size) {
    Handout said = Handout.of(plan, locale);
    return template("handout").data("h", said).data("t", said.words()).data("size", size).render();
  }

  public static String report(
      PaperPlan plan, Locale locale, String size, ProgressReport.Room room) {
    ProgressReport said = ProgressReport.of(plan, locale, room);
    return template("progress-report")
        .data("r", said)
        .data("t", said.words())
        .data("size", size)
        .render();
  }

  private static TemplateInstance template(String name) {
    try (InputStream in = Sheets.class.getResourceAsStream("/templates/" + name + ".html")) {
      String text = new String(in.readAllBytes(), StandardCharsets.UTF_8);
      return ENGINE.parse(text, Variant.forContentType("text/html")).instance();
    } catch (IOException e) {
      throw new UncheckedIOException(e);
    }
  }
}

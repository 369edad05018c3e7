package org.tidemark.fhir;

import io.quarkus.qute.Engine;
import io.quarkus.qute.ReflectionValueResolver;
import io.quarkus.qute.TemplateLocator.TemplateLocation;
import io.quarkus.qute.Variant;
import java.io.IOException;
import java.io.InputStream;
import java.io.Reader;
import java.io.StringReader;
import java.io.UncheckedIOException;
import java.nio.charset.StandardCharsets;
import java.util.Optional;
import java.util.stream.Collectors;

/**
 * Fills in the templates of narratives. Every value is escaped, there is no way to write one raw,
 * and a value that a template asks for and does not get is an error. Needs no running service.
 */
final class NarrativeTemplates {
  private static final Variant HTML = Variant.forContentType(Variant.TEXT_HTML);

  private static final Engine ENGINE =
      Engine.builder()
          .addDefaults()
          .addValueResolver(new ReflectionValueResolver())
          .addResultMapper(new XhtmlEscaper())
          .addLocator(id -> Optional.of(location(id)))
          .strictRendering(true)
          .build();

  private NarrativeTemplates() {}

  /**
   * The template filled in.
   *
   * @param id the template, such as {@code narrative/plan}
   * @param texts what it knows as {@code t}
   * @param said what it knows as {@code said}
   * @throws io.quarkus.qute.TemplateException when a value is missing
   */
  static String render(String id, Texts texts, Record said) {
    return ENGINE.getTemplate(id).data("t", texts).data("said", said).render();
  }

  private static TemplateLocation location(String id) {
    String text = text("/templates/" + id + ".html");
    return new TemplateLocation() {
      @Override
      public Reader read() {
        return new StringReader(text);
      }

      @Override
      public Optional<Variant> getVariant() {
        return Optional.of(HTML);
      }
    };
  }

  /** A template without its line ends and indents, which are for whoever reads the template. */
  private static String text(String file) {
    try (InputStream in = NarrativeTemplates.class.getResourceAsStream(file)) {
      if (in == null) {
        throw new IllegalArgumentException("there is no template " + file);
      }
      return new String(in.readAllBytes(), StandardCharsets.UTF_8)
          .lines()
          .map(String::strip)
          .collect(Collectors.joining());
    } catch (IOException e) {
      throw new UncheckedIOException(e);
    }
  }
}

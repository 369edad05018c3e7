package org.tidemark.fhir;

import java.util.List;
import java.util.Locale;
import org.hl7.fhir.r4.model.Base;
import org.hl7.fhir.r4.model.DomainResource;
import org.hl7.fhir.r4.model.Extension;
import org.hl7.fhir.r4.model.MarkdownType;
import org.hl7.fhir.r4.model.PrimitiveType;
import org.hl7.fhir.r4.model.Property;
import org.hl7.fhir.r4.model.Resource;
import org.hl7.fhir.r4.model.StringType;

/** The texts of a resource in another language, as its {@code translation} extensions give them. */
public final class Translations {
  /** HL7's extension of a text: its {@code lang} and its {@code content} in that language. */
  static final String URL = "http://hl7.org/fhir/StructureDefinition/translation";

  private Translations() {}

  /**
   * A copy of a resource in which each text that is translated into a language stands in it. A text
   * that is not stays as it is.
   */
  public static <T extends Resource> T into(Locale language, T resource) {
    @SuppressWarnings("unchecked")
    T copy = (T) resource.copy();
    translate(language, copy);
    return copy;
  }

  private static void translate(Locale language, Base base) {
    if (base instanceof StringType || base instanceof MarkdownType) {
      PrimitiveType<?> text = (PrimitiveType<?>) base;
      text.getExtension().stream()
          .filter(extension -> isOf(language, extension))
          .flatMap(extension -> texts(extension).stream())
          .findFirst()
          .ifPresent(text::setValueAsString);
      return;
    }
    for (Property property : base.children()) {
      property.getValues().forEach(value -> translate(language, value));
    }
    // HAPI does not count them among the children of a resource.
    if (base instanceof DomainResource whole) {
      whole.getExtension().forEach(extension -> translate(language, extension));
    }
  }

  private static boolean isOf(Locale language, Extension extension) {
    return extension.getUrl().equals(URL)
        && extension.getExtensionsByUrl("lang").stream()
            .map(lang -> lang.getValue().primitiveValue())
            .anyMatch(tag -> speaks(language, tag));
  }

  private static boolean speaks(Locale language, String tag) {
    return tag != null && Locale.forLanguageTag(tag).getLanguage().equals(language.getLanguage());
  }

  private static List<String> texts(Extension extension) {
    return extension.getExtensionsByUrl("content").stream()
        .map(content -> content.getValue().primitiveValue())
        .toList();
  }
}

package org.tidemark.fhir;

import java.util.ArrayList;
import java.util.List;
import java.util.Optional;
import org.hl7.fhir.r4.model.CodeType;
import org.hl7.fhir.r4.model.Extension;
import org.hl7.fhir.r4.model.Quantity;
import org.hl7.fhir.r4.model.StringType;
import org.hl7.fhir.r4.model.Type;

/**
 * One of our extensions with where it stands.
 *
 * @param extension the extension
 * @param path its FHIRPath, such as {@code ServiceRequest.extension[2]}
 */
record ExtensionReader(Extension extension, String path) {

  /** The FHIRPath of an extension by its address, for one that is missing. */
  static String pathOf(String parent, String url) {
    return parent + ".extension('" + url + "')";
  }

  /** Every extension with this address, in order. */
  static List<ExtensionReader> all(List<Extension> extensions, String url, String parent) {
    List<ExtensionReader> found = new ArrayList<>();
    for (int i = 0; i < extensions.size(); i++) {
      if (url.equals(extensions.get(i).getUrl())) {
        found.add(new ExtensionReader(extensions.get(i), parent + ".extension[" + i + "]"));
      }
    }
    return found;
  }

  /**
   * The extension with this address, if there is one.
   *
   * @throws Problem when there are several
   */
  static Optional<ExtensionReader> find(List<Extension> extensions, String url, String parent) {
    List<ExtensionReader> found = all(extensions, url, parent);
    if (found.size() > 1) {
      throw Problem.of(
          Problem.Kind.BUSINESS_RULE, "'" + url + "' is given once.", found.get(1).path());
    }
    return found.stream().findFirst();
  }

  /**
   * The extension with this address.
   *
   * @throws Problem when there is none, or several
   */
  static ExtensionReader get(List<Extension> extensions, String url, String parent) {
    return find(extensions, url, parent)
        .orElseThrow(
            () ->
                Problem.of(Problem.Kind.MISSING, "'" + url + "' is needed.", pathOf(parent, url)));
  }

  /** The part with this name, if there is one. */
  Optional<ExtensionReader> findPart(String url) {
    return find(extension.getExtension(), url, path);
  }

  /** The part with this name. */
  ExtensionReader part(String url) {
    return get(extension.getExtension(), url, path);
  }

  /** The FHIRPath of the value. */
  String valuePath() {
    return path + ".value";
  }

  /** Whether the value is a quantity. */
  boolean isQuantity() {
    return extension.getValue() instanceof Quantity;
  }

  /** The value as a code. */
  String code() {
    if (extension.getValue() instanceof StringType text && text.hasValue()) {
      return text.getValue();
    }
    return value(CodeType.class, "code").getValue();
  }

  /** The value as a quantity. */
  Quantity quantity() {
    return value(Quantity.class, "Quantity");
  }

  /**
   * The value.
   *
   * @throws Problem when there is none, or it is of another type
   */
  <T extends Type> T value(Class<T> type, String name) {
    Type value = extension.getValue();
    if (value == null || value.isEmpty()) {
      throw Problem.of(Problem.Kind.MISSING, "A value is needed.", valuePath());
    }
    if (!type.isInstance(value)) {
      throw Problem.of(
          Problem.Kind.UNSUPPORTED,
          "The value must be a " + name + ", not a " + value.fhirType() + ".",
          valuePath());
    }
    return type.cast(value);
  }
}

package org.tidemark.fhir;

import ca.uhn.fhir.context.FhirContext;
import java.io.IOException;
import java.io.Writer;
import java.util.List;
import org.hl7.fhir.r4.model.Bundle;

/**
 * A document in JSON, each of its entries a text of its own. Years of reports take much less memory
 * so than as elements.
 */
public final class DocumentText {
  private static final String BEFORE = "{\"resourceType\":\"Bundle\",\"entry\":[";
  private static final String AFTER = "]}";

  /** Outside of a string its quotation marks cannot be escaped, and inside they must be. */
  private static final String SIGNATURE = ",\"signature\":";

  private final FhirContext context;
  private final Bundle head;
  private final List<String> entries;

  private DocumentText(FhirContext context, Bundle head, List<String> entries) {
    this.context = context;
    this.head = head;
    this.entries = entries;
  }

  /** The texts of a document, which is left without its entries. */
  public static DocumentText taking(FhirContext context, Bundle document) {
    List<String> entries =
        document.getEntry().stream()
            .map(entry -> text(context, new Bundle().addEntry(entry)))
            .toList();
    document.setEntry(null);
    return new DocumentText(context, document, entries);
  }

  private static String text(FhirContext context, Bundle alone) {
    String text = context.newJsonParser().encodeResourceToString(alone);
    return text.substring(BEFORE.length(), text.length() - AFTER.length());
  }

  /** The document without its entries; a signature is set there. */
  public Bundle head() {
    return head;
  }

  /** The text over which it is signed, see {@link CanonicalJson}. */
  public String canonical() {
    return CanonicalJson.document(encodedHead(), entries);
  }

  private String encodedHead() {
    return context.newJsonParser().encodeResourceToString(head);
  }

  /** Writes it, its elements in the order of R4. */
  public void write(Writer to) throws IOException {
    String text = encodedHead();
    int signature = text.indexOf(SIGNATURE);
    int after = signature < 0 ? text.length() - 1 : signature;
    to.append(text, 0, after).append(",\"entry\":[");
    String separator = "";
    for (String entry : entries) {
      to.append(separator).append(entry);
      separator = ",";
    }
    to.append(']').append(text, after, text.length());
  }
}

package org.tidemark.fhir;

import ca.uhn.fhir.context.FhirContext;
import java.nio.charset.StandardCharsets;
import org.hl7.fhir.r4.model.Bundle;
import org.tidemark.fhir.SentJson.Parted;
import org.tidemark.fhir.SentJson.Span;

/**
 * A document as it was sent, in JSON. It may hold years of reports, so its entries are checked and
 * read one after the other, and never all of them as elements at once.
 */
public final class SentDocument {
  private static final byte[] BEFORE =
      "{\"resourceType\":\"Bundle\",\"type\":\"document\",\"entry\":["
          .getBytes(StandardCharsets.UTF_8);
  private static final byte[] AFTER = "]}".getBytes(StandardCharsets.UTF_8);

  private final FhirContext context;
  private final BodyCheck check;
  private final byte[] body;
  private final Parted parted;

  /**
   * A document.
   *
   * @param context HAPI's context for R4
   * @param depth how deep it may nest
   * @param body its bytes, in UTF-8
   * @throws Problem when it is no JSON object, or something else than a Bundle
   */
  public SentDocument(FhirContext context, int depth, byte[] body) {
    this.context = context;
    this.check = new BodyCheck(context, depth);
    this.body = body;
    this.parted = new SentJson(depth).part(body, "entry");
    String type = check.check(parted.rest(), false);
    if (!type.equals("Bundle")) {
      throw Problem.of(
          Problem.Kind.MISMATCH,
          "The body is a resource of the type %s; a Bundle is expected here.".formatted(type),
          type);
    }
  }

  /** The document without its entries. */
  public Bundle head() {
    return parsed(parted.rest());
  }

  /**
   * The document with its entries.
   *
   * @throws Problem when an entry cannot become a resource; it names the entry
   */
  public Bundle whole() {
    Bundle whole = head();
    for (Span entry : parted.members()) {
      int index = whole.getEntry().size();
      byte[] alone = alone(entry);
      try {
        check.check(alone, false);
      } catch (Problem problem) {
        throw problem.ofEntry(index);
      }
      whole.addEntry(parsed(alone).getEntryFirstRep());
    }
    return whole;
  }

  private byte[] alone(Span entry) {
    int length = entry.to() - entry.from();
    byte[] alone = new byte[BEFORE.length + length + AFTER.length];
    System.arraycopy(BEFORE, 0, alone, 0, BEFORE.length);
    System.arraycopy(body, entry.from(), alone, BEFORE.length, length);
    System.arraycopy(AFTER, 0, alone, BEFORE.length + length, AFTER.length);
    return alone;
  }

  private Bundle parsed(byte[] json) {
    return context
        .newJsonParser()
        .parseResource(Bundle.class, new String(json, StandardCharsets.UTF_8));
  }
}

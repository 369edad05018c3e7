package org.tidemark.fhir;

import java.util.Date;
import java.util.Optional;
import org.hl7.fhir.r4.model.Attachment;
import org.hl7.fhir.r4.model.Binary;
import org.hl7.fhir.r4.model.DocumentReference;
import org.hl7.fhir.r4.model.DocumentReference.DocumentRelationshipType;
import org.hl7.fhir.r4.model.Enumerations.DocumentReferenceStatus;
import org.hl7.fhir.r4.model.Narrative;
import org.hl7.fhir.r4.model.Reference;

/** Writes what a plan's papers are kept as: a Binary, and a DocumentReference that points to it. */
public final class PaperWriter {
  private static final String PDF = "application/pdf";

  /**
   * Which paper. Codes and displays as public guides use them: 69730-0 is the section of
   * instructions in C-CDA, 11508-9 is in HL7's own expansion of LOINC.
   */
  public enum Kind {
    /** What the person is handed. */
    HANDOUT("69730-0", "Instructions", "Handout"),
    /** What a referrer is sent. */
    PROGRESS_REPORT("11508-9", "Physical therapy Progress note", "Progress report");

    private final String loinc;
    private final String display;
    private final String title;

    Kind(String loinc, String display, String title) {
      this.loinc = loinc;
      this.display = display;
      this.title = title;
    }

    /** Its code in LOINC. */
    public String loinc() {
      return loinc;
    }
  }

  private PaperWriter() {}

  /** The bytes, of which only the person and who treats them may see. */
  public static Binary binary(PlanIdentity plan, byte[] pdf) {
    Binary binary = new Binary();
    binary.setContentType(PDF);
    binary.setSecurityContext(new Reference(plan.subject()));
    binary.setData(pdf);
    return binary;
  }

  /**
   * What points to the bytes.
   *
   * @param binary the Binary as it is stored
   * @param former the paper that this one takes the place of, if there is one
   * @param now when it is written
   */
  public static DocumentReference reference(
      PlanIdentity plan, Kind kind, Binary binary, Optional<DocumentReference> former, Date now) {
    String description = kind.title + ": " + plan.programme().title();
    DocumentReference paper = new DocumentReference();
    paper.getText().setStatus(Narrative.NarrativeStatus.GENERATED);
    paper.getText().getDiv().addText(description);
    paper.setStatus(DocumentReferenceStatus.CURRENT);
    paper.setDocStatus(DocumentReference.ReferredDocumentStatus.FINAL);
    paper.setType(Codes.concept(Codes.LOINC, kind.loinc, kind.display).setText(kind.title));
    paper.setSubject(new Reference(plan.subject()));
    paper.setDate(now);
    paper.addAuthor(new Reference(plan.engineDevice()));
    paper.setCustodian(new Reference(plan.organisation()));
    paper.setDescription(description);
    former.ifPresent(
        known ->
            paper
                .addRelatesTo()
                .setCode(DocumentRelationshipType.REPLACES)
                .setTarget(new Reference("DocumentReference/" + known.getIdElement().getIdPart())));
    paper
        .addContent()
        .setAttachment(
            new Attachment()
                .setContentType(PDF)
                .setLanguage(plan.language().toLanguageTag())
                .setUrl("Binary/" + binary.getIdElement().getIdPart())
                .setSize(binary.getData().length)
                .setTitle(description)
                .setCreation(now));
    paper.getContext().addRelated(new Reference(plan.reference()));
    return paper;
  }
}

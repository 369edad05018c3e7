package org.tidemark.fhir;

import java.util.Date;
import org.hl7.fhir.r4.model.Provenance;
import org.hl7.fhir.r4.model.Provenance.ProvenanceEntityRole;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.Signature;

/** Writes that a plan was received from another clinic, and by whose signature. */
public final class ReceiptWriter {
  private ReceiptWriter() {}

  /**
   * A new trail, without an id.
   *
   * @param plan the CarePlan here
   * @param device who received it
   * @param organisation on whose behalf
   * @param handed the document
   * @param signature the signature of the document
   * @param recorded when it is stored
   */
  public static Provenance write(
      String plan,
      String device,
      String organisation,
      HandedOver handed,
      Signature signature,
      Date recorded) {
    Provenance trail = new Provenance();
    trail.addTarget(new Reference(plan));
    trail.setRecorded(recorded);
    trail.setActivity(
        Codes.concept(Codes.DATA_OPERATION, "CREATE", "create")
            .setText("Received from " + handed.issuer()));
    trail
        .addAgent()
        .setType(Codes.concept(Codes.PARTICIPANT_TYPE, "assembler", "Assembler"))
        .setWho(new Reference(device))
        .setOnBehalfOf(new Reference(organisation));
    Reference document = new Reference();
    document.getIdentifier().setSystem(handed.issuer()).setValue(handed.identifier());
    trail.addEntity().setRole(ProvenanceEntityRole.SOURCE).setWhat(document);
    trail.addSignature(signature);
    return trail;
  }
}

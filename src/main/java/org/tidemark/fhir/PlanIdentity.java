package org.tidemark.fhir;

import java.util.Locale;
import org.tidemark.programme.Programme;
import org.tidemark.programme.Side;

/**
 * Whose plan it is, for which side, and who speaks for it.
 *
 * @param planId id of the CarePlan
 * @param subject the person: {@code Patient/x}, or an absolute reference into another record system
 * @param side the side that the plan is for
 * @param programme the programme that the plan follows
 * @param engineDevice the service itself, such as {@code Device/tidemark-engine}
 * @param organisation on whose behalf it acts, such as {@code Organization/clinic}
 * @param language the language that is written for people
 */
public record PlanIdentity(
    String planId,
    String subject,
    Side side,
    Programme programme,
    String engineDevice,
    String organisation,
    Locale language) {

  /** The plan as a reference, {@code CarePlan/x}. */
  public String reference() {
    return "CarePlan/" + planId;
  }

  /** The texts in the language of the plan. */
  Texts texts() {
    return Texts.of(language);
  }

  /** The words of its prescriptions. */
  PrescriptionText words() {
    return new PrescriptionText(texts(), programme);
  }
}

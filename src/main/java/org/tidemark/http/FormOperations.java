package org.tidemark.http;

import ca.uhn.fhir.rest.annotation.IdParam;
import ca.uhn.fhir.rest.annotation.Operation;
import ca.uhn.fhir.rest.annotation.OperationParam;
import jakarta.enterprise.context.ApplicationScoped;
import java.util.Optional;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.IdType;
import org.hl7.fhir.r4.model.Questionnaire;
import org.hl7.fhir.r4.model.QuestionnaireResponse;
import org.tidemark.application.Forms;
import org.tidemark.fhir.Problem;

/** The operations on filled-in forms. */
@ApplicationScoped
public class FormOperations implements Operations {
  private static final String EXTRACT =
      "http://hl7.org/fhir/uv/sdc/OperationDefinition/QuestionnaireResponse-extract";

  private final Forms forms;

  FormOperations(Forms forms) {
    this.forms = forms;
  }

  /**
   * {@code QuestionnaireResponse/$extract} and {@code QuestionnaireResponse/[id]/$extract}: the
   * Observations that a completed form says, stored nowhere.
   */
  @Operation(
      name = "$extract",
      type = QuestionnaireResponse.class,
      idempotent = true,
      canonicalUrl = EXTRACT)
  public Bundle extract(
      @IdParam(optional = true) IdType id,
      @OperationParam(name = "questionnaire-response") QuestionnaireResponse form,
      @OperationParam(name = "questionnaire") Questionnaire questions) {
    if (id != null) {
      return forms.extract(id.getIdPart());
    }
    if (form == null) {
      throw Problem.of(
          Problem.Kind.MISSING,
          "The form is needed.",
          "Parameters.parameter.where(name='questionnaire-response')");
    }
    return forms.extract(form, Optional.ofNullable(questions));
  }
}

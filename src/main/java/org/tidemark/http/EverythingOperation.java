package org.tidemark.http;

import ca.uhn.fhir.rest.annotation.IdParam;
import ca.uhn.fhir.rest.annotation.Operation;
import ca.uhn.fhir.rest.api.server.RequestDetails;
import jakarta.enterprise.context.ApplicationScoped;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.IdType;
import org.hl7.fhir.r4.model.Patient;
import org.tidemark.application.Everything;
import org.tidemark.application.Page;
import org.tidemark.application.Records;
import org.tidemark.application.Summaries;
import org.tidemark.fhir.References;

/** R4's {@code Patient/[id]/$everything}, and {@code Patient/[id]/$summary}. */
@ApplicationScoped
public class EverythingOperation implements Operations {
  private static final String NAME = "$everything";

  private final Everything everything;
  private final Summaries summaries;
  private final References references;
  private final SearchBundles bundles;

  EverythingOperation(
      Everything everything, Summaries summaries, Records records, References references) {
    this.everything = everything;
    this.summaries = summaries;
    this.references = references;
    this.bundles = new SearchBundles(records, references);
  }

  /** How a person stands, in the manner of the International Patient Summary. */
  @Operation(
      name = "$summary",
      type = Patient.class,
      idempotent = true,
      canonicalUrl = "http://hl7.org/fhir/uv/ips/OperationDefinition/summary")
  public Bundle summary(@IdParam IdType id) {
    return summaries.summary(id.getIdPart());
  }

  /** A page of everything about a person; the link {@code next} leads on by GET. */
  @Operation(
      name = NAME,
      type = Patient.class,
      idempotent = true,
      canonicalUrl = "http://hl7.org/fhir/OperationDefinition/Patient-everything")
  public Bundle everything(@IdParam IdType id, RequestDetails request) {
    Map<String, List<String>> given = OperationParameters.given(request);
    Map<String, List<String>> asked = new LinkedHashMap<>(given);
    asked.keySet().removeAll(SearchBundles.FORM);
    Page page = everything.read(id.getIdPart(), asked);
    String path = references.base() + "Patient/" + id.getIdPart() + "/" + NAME;
    return bundles.bundle(page, path, given, request);
  }
}

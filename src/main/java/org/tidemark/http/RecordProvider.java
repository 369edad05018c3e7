package org.tidemark.http;

import ca.uhn.fhir.rest.annotation.ConditionalUrlParam;
import ca.uhn.fhir.rest.annotation.Create;
import ca.uhn.fhir.rest.annotation.IdParam;
import ca.uhn.fhir.rest.annotation.ResourceParam;
import ca.uhn.fhir.rest.annotation.Update;
import ca.uhn.fhir.rest.api.MethodOutcome;
import ca.uhn.fhir.rest.api.server.RequestDetails;
import org.hl7.fhir.instance.model.api.IBaseResource;
import org.hl7.fhir.r4.model.IdType;
import org.hl7.fhir.r4.model.OperationOutcome;
import org.hl7.fhir.r4.model.Resource;
import org.tidemark.application.Condition;
import org.tidemark.application.Records;
import org.tidemark.application.Written;
import org.tidemark.fhir.EntityTags;
import org.tidemark.fhir.References;

/** Reads, searches, creates and updates records of one type. */
final class RecordProvider extends ReadProvider {

  RecordProvider(Class<? extends Resource> type, Records records, References references) {
    super(type, records, references);
  }

  /** Creates a record, with {@code If-None-Exist} only if no other has the identifier. */
  @Create
  public MethodOutcome create(
      @ResourceParam IBaseResource resource, @ConditionalUrlParam String condition) {
    if (condition == null) {
      return outcome(new Written(records().create((Resource) resource), true));
    }
    Condition identifier = Condition.read(condition, "If-None-Exist");
    return outcome(
        records().createIfNone((Resource) resource, identifier.system(), identifier.value()));
  }

  /** Updates a record, with {@code If-Match} only from that version, or creates it under its id. */
  @Update
  public MethodOutcome update(
      @IdParam IdType id, @ResourceParam IBaseResource resource, RequestDetails request) {
    Resource sent = (Resource) resource;
    sent.setId(new IdType(sent.fhirType(), id.getIdPart()));
    return outcome(records().update(sent, EntityTags.version(request.getHeader("If-Match"))));
  }

  private static MethodOutcome outcome(Written written) {
    Resource resource = written.resource();
    OperationOutcome stored = new OperationOutcome();
    stored
        .addIssue()
        .setSeverity(OperationOutcome.IssueSeverity.INFORMATION)
        .setCode(OperationOutcome.IssueType.INFORMATIONAL)
        .setDiagnostics(written.created() ? "Created." : "Stored.");
    MethodOutcome outcome = new MethodOutcome(resource.getIdElement(), stored, written.created());
    outcome.setResource(resource);
    return outcome;
  }
}

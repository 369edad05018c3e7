package org.tidemark.http;

import ca.uhn.fhir.rest.annotation.ConditionalUrlParam;
import ca.uhn.fhir.rest.annotation.Create;
import ca.uhn.fhir.rest.annotation.Delete;
import ca.uhn.fhir.rest.annotation.IdParam;
import ca.uhn.fhir.rest.annotation.Patch;
import ca.uhn.fhir.rest.annotation.ResourceParam;
import ca.uhn.fhir.rest.annotation.Update;
import ca.uhn.fhir.rest.api.MethodOutcome;
import ca.uhn.fhir.rest.api.PatchTypeEnum;
import ca.uhn.fhir.rest.api.server.RequestDetails;
import ca.uhn.fhir.rest.server.RestfulServerUtils;
import java.io.ByteArrayInputStream;
import java.util.Objects;
import java.util.Optional;
import java.util.OptionalLong;
import java.util.function.UnaryOperator;
import org.hl7.fhir.instance.model.api.IBaseParameters;
import org.hl7.fhir.instance.model.api.IBaseResource;
import org.hl7.fhir.r4.model.IdType;
import org.hl7.fhir.r4.model.OperationOutcome;
import org.hl7.fhir.r4.model.Parameters;
import org.hl7.fhir.r4.model.Resource;
import org.tidemark.application.Address;
import org.tidemark.application.Condition;
import org.tidemark.application.Histories;
import org.tidemark.application.Records;
import org.tidemark.application.Repeats;
import org.tidemark.application.Retelling;
import org.tidemark.application.Written;
import org.tidemark.fhir.EntityTags;
import org.tidemark.fhir.Patches;
import org.tidemark.fhir.Problem;
import org.tidemark.fhir.References;

/** Reads, searches, creates, changes and deletes records of one type. */
final class RecordProvider extends ReadProvider {

  private static final String ADDRESS = "the address";

  private static final String IDENTIFIER = "Observation.identifier";

  private final Patches patches;
  private final Repeats repeats;

  RecordProvider(
      Class<? extends Resource> type,
      Records records,
      Histories histories,
      References references,
      Validations validations,
      Retelling retelling,
      Patches patches,
      Repeats repeats) {
    super(type, records, histories, references, validations, retelling);
    this.patches = patches;
    this.repeats = repeats;
  }

  /** Creates a record, with {@code If-None-Exist} only if no other matches. */
  @Create
  public MethodOutcome create(
      @ResourceParam IBaseResource resource, @ConditionalUrlParam String condition) {
    Resource sent = (Resource) resource;
    return outcome(
        Optional.ofNullable(condition)
            .map(asked -> Condition.read(asked, "If-None-Exist"))
            .or(() -> repeats.condition(sent).map(one -> Condition.read(one, IDENTIFIER)))
            .map(asked -> records().createIfNone(sent, asked))
            .orElseGet(() -> new Written(records().create(sent), true)));
  }

  /**
   * Updates a record, with {@code If-Match} only from that version, or creates it under its id.
   * Under a condition it updates the record that matches, or creates one.
   */
  @Update
  public MethodOutcome update(
      @IdParam IdType id,
      @ResourceParam IBaseResource resource,
      @ConditionalUrlParam String condition,
      RequestDetails request) {
    Resource sent = (Resource) resource;
    OptionalLong ifMatch = EntityTags.version(request.getHeader("If-Match"));
    if (condition != null) {
      sent.setId(idInBody(request));
      return outcome(records().updateMatching(sent, Condition.read(condition, ADDRESS), ifMatch));
    }
    sent.setId(new IdType(sent.fhirType(), id.getIdPart()));
    return outcome(records().update(sent, ifMatch));
  }

  /** The id that a conditional update brings; HAPI takes it away from the resource. */
  private static IdType idInBody(RequestDetails request) {
    IBaseResource body =
        RestfulServerUtils.determineRequestEncodingNoDefault(request)
            .newParser(request.getFhirContext())
            .parseResource(new ByteArrayInputStream(request.loadRequestContents()));
    return new IdType(body.getIdElement().getIdPart());
  }

  /** Changes a record by a JSON Patch or a FHIRPath Patch. */
  @Patch
  public MethodOutcome patch(
      @IdParam IdType id,
      @ConditionalUrlParam String condition,
      PatchTypeEnum kind,
      @ResourceParam String body,
      @ResourceParam IBaseParameters operations,
      RequestDetails request) {
    UnaryOperator<Resource> patch =
        switch (kind) {
          case JSON_PATCH -> before -> patches.json(before, body);
          case FHIR_PATCH_JSON, FHIR_PATCH_XML ->
              before -> patches.fhirPath(before, (Parameters) operations);
          default ->
              throw Problem.of(
                  Problem.Kind.UNSUPPORTED_FORMAT,
                  "A patch is sent as application/json-patch+json, or as a Parameters resource.");
        };
    Written written =
        records()
            .patch(
                address(id, condition), EntityTags.version(request.getHeader("If-Match")), patch);
    String version = written.resource().getMeta().getVersionId();
    request.getResponse().addHeader("ETag", EntityTags.of(version));
    return outcome(written);
  }

  /** Deletes a record on which nothing rests. */
  @Delete
  public void delete(
      @IdParam IdType id, @ConditionalUrlParam String condition, RequestDetails request) {
    records().delete(address(id, condition), EntityTags.version(request.getHeader("If-Match")));
  }

  /** Without an id there is a condition; one that is empty is refused. */
  private Address address(IdType id, String condition) {
    String type = getResourceType().getSimpleName();
    return id != null && condition == null
        ? Address.of(type, id.getIdPart())
        : Address.matching(type, Condition.read(Objects.toString(condition, ""), ADDRESS));
  }

  /** The answer to a write; the record itself where the caller may read it. */
  private MethodOutcome outcome(Written written) {
    Resource resource = written.resource();
    OperationOutcome stored = new OperationOutcome();
    stored
        .addIssue()
        .setSeverity(OperationOutcome.IssueSeverity.INFORMATION)
        .setCode(OperationOutcome.IssueType.INFORMATIONAL)
        .setDiagnostics(written.created() ? "Created." : "Stored.");
    MethodOutcome outcome = new MethodOutcome(resource.getIdElement(), stored, written.created());
    if (records().shows(resource)) {
      outcome.setResource(resource);
    }
    return outcome;
  }
}

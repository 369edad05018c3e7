package org.tidemark.application;

import jakarta.enterprise.context.ApplicationScoped;
import java.util.List;
import java.util.Optional;
import java.util.OptionalLong;
import org.hl7.fhir.r4.model.OperationOutcome;
import org.hl7.fhir.r4.model.OperationOutcome.IssueSeverity;
import org.hl7.fhir.r4.model.Resource;
import org.tidemark.fhir.Outcomes;
import org.tidemark.fhir.Problem;
import org.tidemark.fhir.RecordCheck;

/** Says what would be wrong with a write, without making it: the standard's {@code $validate}. */
@ApplicationScoped
public class Validating {
  private static final String MODE = "Parameters.parameter.where(name='mode')";
  private static final String RESOURCE = "Parameters.parameter.where(name='resource')";

  private final Records records;
  private final Validation validation;

  Validating(Records records, Validation validation) {
    this.records = records;
    this.validation = validation;
  }

  /**
   * What is to be validated.
   *
   * @param type the type that the address names
   * @param id the record that the address names, empty for the type
   * @param resource the resource that was sent
   * @param mode {@code create}, {@code update}, {@code delete} or {@code profile}
   * @param profile a profile that the resource must fit beside those that it claims
   */
  public record Request(
      String type,
      Optional<String> id,
      Optional<Resource> resource,
      Optional<String> mode,
      Optional<String> profile) {}

  /**
   * Validates a resource; without one, the record as it stands. In the modes {@code create} and
   * {@code update} it is also judged as if it were written, in {@code delete} the record as if it
   * were deleted; nothing is stored.
   *
   * @param request what is asked
   * @return what was found; one issue of information when nothing was
   * @throws Problem when it cannot be carried out: nothing to validate, an unknown mode or profile
   */
  public OperationOutcome validate(Request request) {
    String mode = request.mode().orElse("profile");
    return switch (mode) {
      case "delete" -> rehearsed(new OperationOutcome(), () -> delete(request));
      case "create" -> {
        Resource resource = sent(request);
        yield written(request, resource, () -> create(request, resource));
      }
      case "update" -> {
        Resource resource = sent(request);
        yield written(request, resource, () -> update(request, resource));
      }
      case "profile" -> content(request, subject(request));
      default ->
          throw Problem.of(
              Problem.Kind.INVALID_VALUE,
              "The mode is create, update, delete or profile, not '" + mode + "'.",
              MODE);
    };
  }

  private OperationOutcome written(Request request, Resource resource, Runnable write) {
    OperationOutcome outcome = content(request, resource);
    boolean valid =
        outcome.getIssue().stream()
            .allMatch(issue -> issue.getSeverity().compareTo(IssueSeverity.ERROR) > 0);
    return valid ? rehearsed(outcome, write) : outcome;
  }

  private static OperationOutcome rehearsed(OperationOutcome outcome, Runnable write) {
    try {
      write.run();
    } catch (Problem refused) {
      return Outcomes.of(refused);
    }
    return outcome.hasIssue() ? outcome : Outcomes.information("It would be accepted.");
  }

  private void create(Request request, Resource resource) {
    Types.requireWritten(request.type());
    records.rehearseCreate(resource);
  }

  private void update(Request request, Resource resource) {
    Types.requireWritten(request.type());
    String id = id(request);
    Types.requireId(resource, id);
    records.rehearseUpdate(resource);
  }

  private void delete(Request request) {
    Types.requireWritten(request.type());
    records.rehearseDelete(Address.of(request.type(), id(request)));
  }

  private static String id(Request request) {
    return request
        .id()
        .or(() -> request.resource().map(Resource::getIdPart))
        .orElseThrow(
            () ->
                Problem.of(
                    Problem.Kind.MISSING, "The record that is meant is needed.", "Resource.id"));
  }

  private Resource subject(Request request) {
    if (request.resource().isPresent() || request.id().isEmpty()) {
      return sent(request);
    }
    Address address = Address.of(request.type(), request.id().get());
    return records
        .read(address.type(), address.id(), OptionalLong.empty())
        .orElseThrow(() -> records.absent(address));
  }

  private static Resource sent(Request request) {
    Resource resource =
        request
            .resource()
            .orElseThrow(
                () ->
                    Problem.of(
                        Problem.Kind.MISSING, "The resource to validate is needed.", RESOURCE));
    if (!resource.fhirType().equals(request.type())) {
      throw Problem.of(
          Problem.Kind.MISMATCH,
          "The resource is of the type %s, the address says %s."
              .formatted(resource.fhirType(), request.type()),
          resource.fhirType());
    }
    return resource;
  }

  private OperationOutcome content(Request request, Resource resource) {
    List<RecordCheck.Finding> found = validation.check(resource, request.profile());
    return found.isEmpty() ? Outcomes.information("No issues were found.") : Outcomes.of(found);
  }
}

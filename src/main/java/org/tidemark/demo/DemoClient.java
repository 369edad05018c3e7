package org.tidemark.demo;

import ca.uhn.fhir.rest.api.PreferReturnEnum;
import ca.uhn.fhir.rest.client.api.IGenericClient;
import ca.uhn.fhir.rest.client.api.ServerValidationModeEnum;
import java.util.ArrayList;
import java.util.Comparator;
import java.util.List;
import java.util.Optional;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.CodeableConcept;
import org.hl7.fhir.r4.model.Coding;
import org.hl7.fhir.r4.model.Observation;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.Resource;
import org.hl7.fhir.r4.model.ServiceRequest;
import org.hl7.fhir.r4.model.Task;
import org.tidemark.fhir.Codes;

/**
 * Sends what the demo has to the service, as any FHIR client would.
 *
 * <p>The files hold nothing that only the running service can know. Two rules fill that in: a
 * session that is tagged with an exercise answers the prescription in force of that exercise, and a
 * Task without an id answers the open Task of its code for its person.
 */
public final class DemoClient {
  private static final int PAGE = 200;

  /** Long: the first write waits until the service has read R4's definitions. */
  private static final int PATIENCE_MILLIS = 60_000;

  private final IGenericClient client;

  /**
   * A client.
   *
   * @param base the address of the endpoint, such as {@code http://localhost:8080/fhir}
   */
  public DemoClient(String base) {
    Diaries.R4.getRestfulClientFactory().setServerValidationMode(ServerValidationModeEnum.NEVER);
    Diaries.R4.getRestfulClientFactory().setSocketTimeout(PATIENCE_MILLIS);
    this.client = Diaries.R4.newRestfulGenericClient(base);
  }

  /** Sends a transaction. */
  public void transact(Bundle bundle) {
    client.transaction().withBundle(bundle).execute();
  }

  /**
   * Sends one page of a diary.
   *
   * @throws IllegalStateException when it answers something that is not there
   */
  public void send(Diaries.Page page) {
    Resource resource = page.resource();
    if (resource instanceof Task answer) {
      put(answered(answer));
    } else if (resource instanceof Observation report && exercise(report).isPresent()) {
      put(basedOn(report, exercise(report).get()));
    } else {
      put(unversioned(resource));
    }
  }

  /** The version of a file is not the version of the service. */
  private static Resource unversioned(Resource resource) {
    Resource copy = resource.copy();
    copy.getMeta().setVersionId(null);
    copy.setId(resource.getIdElement().getIdPart());
    return copy;
  }

  /** Everything that a search finds, page after page. */
  <T extends Resource> List<T> list(Class<T> type, String criteria) {
    List<T> found = new ArrayList<>();
    Bundle page =
        client
            .search()
            .byUrl(type.getSimpleName() + "?" + criteria + "_count=" + PAGE)
            .returnBundle(Bundle.class)
            .execute();
    while (true) {
      page.getEntry().forEach(entry -> found.add(type.cast(entry.getResource())));
      if (page.getLink(Bundle.LINK_NEXT) == null) {
        return found;
      }
      page = client.loadPage().next(page).execute();
    }
  }

  private void put(Resource resource) {
    client.update().resource(resource).prefer(PreferReturnEnum.MINIMAL).execute();
  }

  private static Optional<String> exercise(Observation report) {
    return report.getMeta().getTag().stream()
        .filter(tag -> Codes.EXERCISE_VARIATION.equals(tag.getSystem()))
        .map(Coding::getCode)
        .findFirst();
  }

  private Observation basedOn(Observation report, String exercise) {
    String person = report.getSubject().getReference();
    ServiceRequest order =
        list(ServiceRequest.class, "patient=" + person + "&status=active&intent=order&").stream()
            .filter(request -> has(request.getCode(), Codes.EXERCISE_VARIATION, exercise))
            .findFirst()
            .orElseThrow(
                () ->
                    new IllegalStateException(
                        report.getIdPart() + " answers " + exercise + ", which is not asked for"));
    Observation naming = (Observation) unversioned(report);
    naming.addBasedOn(new Reference("ServiceRequest/" + order.getIdPart()));
    return naming;
  }

  private Task answered(Task answer) {
    Coding code = answer.getCode().getCodingFirstRep();
    Task open =
        list(Task.class, "patient=" + answer.getFor().getReference() + "&status=requested&")
            .stream()
            .filter(task -> has(task.getCode(), code.getSystem(), code.getCode()))
            .max(Comparator.comparing(Task::getAuthoredOn))
            .orElseThrow(
                () ->
                    new IllegalStateException(
                        "no Task to "
                            + code.getCode()
                            + " is open for "
                            + answer.getFor().getReference()
                            + " on "
                            + answer.getExecutionPeriod().getEndElement().getValueAsString()));
    open.setStatus(answer.getStatus());
    open.setExecutionPeriod(answer.getExecutionPeriod());
    open.setOwner(answer.getOwner());
    answer.getNote().forEach(open::addNote);
    return open;
  }

  private static boolean has(CodeableConcept concept, String system, String code) {
    return concept.getCoding().stream()
        .anyMatch(coding -> system.equals(coding.getSystem()) && code.equals(coding.getCode()));
  }
}

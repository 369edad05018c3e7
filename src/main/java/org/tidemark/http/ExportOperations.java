package org.tidemark.http;

import ca.uhn.fhir.rest.annotation.IdParam;
import ca.uhn.fhir.rest.annotation.Operation;
import ca.uhn.fhir.rest.api.server.RequestDetails;
import jakarta.enterprise.context.ApplicationScoped;
import jakarta.servlet.http.HttpServletResponse;
import java.io.IOException;
import java.util.List;
import java.util.Map;
import java.util.Set;
import org.hl7.fhir.r4.model.Group;
import org.hl7.fhir.r4.model.IdType;
import org.hl7.fhir.r4.model.Patient;
import org.tidemark.application.Exports;
import org.tidemark.application.Exports.Extent;
import org.tidemark.fhir.Outcomes;
import org.tidemark.fhir.References;

/** The requests that begin an export (FHIR Bulk Data Access 2.0). */
@ApplicationScoped
public class ExportOperations implements Operations {
  private static final String GUIDE = "http://hl7.org/fhir/uv/bulkdata/OperationDefinition/";

  /** What concerns the answer to the request and not the export. */
  private static final Set<String> OF_THIS_ANSWER = Set.of("_format", "_pretty");

  private final Exports exports;
  private final References references;

  ExportOperations(Exports exports, References references) {
    this.exports = exports;
    this.references = references;
  }

  /** {@code $export}: everything. */
  @Operation(
      name = "$export",
      manualResponse = true,
      idempotent = true,
      canonicalUrl = GUIDE + "export")
  public void ofSystem(RequestDetails request, HttpServletResponse response) throws IOException {
    start(Extent.EVERYTHING, request, response);
  }

  /** {@code Patient/$export}: what is about people. */
  @Operation(
      name = "$export",
      type = Patient.class,
      manualResponse = true,
      idempotent = true,
      canonicalUrl = GUIDE + "patient-export")
  public void ofPeople(RequestDetails request, HttpServletResponse response) throws IOException {
    start(Extent.PEOPLE, request, response);
  }

  /** {@code Group/[id]/$export}: what is about the members of a Group. */
  @Operation(
      name = "$export",
      type = Group.class,
      manualResponse = true,
      idempotent = true,
      canonicalUrl = GUIDE + "group-export")
  public void ofGroup(@IdParam IdType id, RequestDetails request, HttpServletResponse response)
      throws IOException {
    start(Extent.ofGroup(id.getIdPart()), request, response);
  }

  private void start(Extent extent, RequestDetails request, HttpServletResponse response)
      throws IOException {
    AsyncRequests.require(request, "An export");
    Map<String, List<String>> given = OperationParameters.given(request);
    given.keySet().removeAll(OF_THIS_ANSWER);
    String id = exports.start(extent, given, address(request));
    String place = references.base() + ExportServlet.UNDER_BASE + "/" + id;
    response.setStatus(HttpServletResponse.SC_ACCEPTED);
    response.setHeader("Content-Location", place);
    response.setContentType("application/fhir+json;charset=UTF-8");
    response
        .getWriter()
        .write(
            request
                .getFhirContext()
                .newJsonParser()
                .encodeResourceToString(
                    Outcomes.information(
                        "The export has begun; " + place + " tells how it stands.")));
  }

  /** The address that was called; of what was sent in a body it says nothing. */
  private String address(RequestDetails request) {
    return QueryText.url(references.base() + request.getRequestPath(), QueryText.given(request));
  }
}

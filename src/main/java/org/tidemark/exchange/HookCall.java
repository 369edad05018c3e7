package org.tidemark.exchange;

import java.util.Optional;
import java.util.regex.Pattern;

/**
 * A call of a service, as far as every hook has it. What it says of how to reach the caller's own
 * FHIR server is checked for its shape and not used.
 *
 * @param patientId the id of the Patient in the caller's system
 * @param server the base of the caller's FHIR server, if it is told
 * @param context what the hook says
 * @param patient the Patient that was sent along; missing or null when none was
 */
record HookCall(String patientId, Optional<String> server, Member context, Member patient) {
  /** The key under which the Patient is asked for. */
  static final String PATIENT = "patient";

  private static final Pattern ID = Pattern.compile("[A-Za-z0-9\\-.]{1,64}");

  /**
   * Reads a call.
   *
   * @param body the body
   * @param hook the hook that the service is for
   * @throws HookProblem naming the member that is not as the specification has it
   */
  static HookCall read(Member body, String hook) {
    body.at("hookInstance").uuid();
    Member named = body.at("hook");
    if (!named.text().equals(hook)) {
      throw HookProblem.malformed(
          named.path(), "The service is for the hook '" + hook + "', not for this one.");
    }
    Optional<String> server = body.at("fhirServer").given().map(Member::url);
    if (body.at("fhirAuthorization").given().map(Member::object).isPresent() && server.isEmpty()) {
      throw HookProblem.malformed(
          "fhirServer", "'fhirServer' is required beside 'fhirAuthorization'.");
    }
    Member context = body.at("context").object();
    context.at("userId").text();
    context.at("encounterId").given().ifPresent(Member::text);
    Member patient = context.at("patientId");
    if (!ID.matcher(patient.text()).matches()) {
      throw HookProblem.malformed(
          patient.path(), "'context.patientId' is not the id of a Patient.");
    }
    Member prefetch = body.at("prefetch");
    prefetch.given().ifPresent(Member::object);
    return new HookCall(patient.text(), server, context, prefetch.at(PATIENT));
  }
}

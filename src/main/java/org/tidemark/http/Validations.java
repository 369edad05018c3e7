package org.tidemark.http;

import ca.uhn.fhir.parser.DataFormatException;
import ca.uhn.fhir.rest.api.EncodingEnum;
import ca.uhn.fhir.rest.api.server.RequestDetails;
import ca.uhn.fhir.rest.server.RestfulServerUtils;
import java.nio.charset.StandardCharsets;
import java.util.Optional;
import org.hl7.fhir.r4.model.OperationOutcome;
import org.hl7.fhir.r4.model.Parameters;
import org.hl7.fhir.r4.model.Parameters.ParametersParameterComponent;
import org.hl7.fhir.r4.model.Resource;
import org.tidemark.application.Validating;
import org.tidemark.fhir.BodyCheck;
import org.tidemark.fhir.Outcomes;
import org.tidemark.fhir.Problem;

/**
 * The standard's {@code $validate}: a resource by itself or in Parameters, with a mode and a
 * profile there or in the address. That something is not valid is its answer, with status 200.
 */
final class Validations {
  static final String OPERATION = "$validate";

  private final Validating validating;
  private final BodyCheck bodyCheck;

  Validations(Validating validating, BodyCheck bodyCheck) {
    this.validating = validating;
    this.bodyCheck = bodyCheck;
  }

  OperationOutcome validate(String type, Optional<String> id, RequestDetails request) {
    byte[] body = request.loadRequestContents();
    Optional<Resource> sent = Optional.empty();
    if (body != null && body.length > 0) {
      EncodingEnum encoding = RestfulServerUtils.determineRequestEncodingNoDefault(request);
      try {
        bodyCheck.check(body, encoding == EncodingEnum.XML);
      } catch (Problem problem) {
        if (problem.status() == Problem.Kind.MALFORMED.status()) {
          throw problem;
        }
        return Outcomes.of(problem);
      }
      sent = Optional.of(parsed(body, encoding, request));
    }
    Parameters parameters = sent.orElse(null) instanceof Parameters given ? given : null;
    return validating.validate(
        new Validating.Request(
            type,
            id,
            parameters == null ? sent : resource(parameters),
            value("mode", parameters, request),
            value("profile", parameters, request)));
  }

  private static Resource parsed(byte[] body, EncodingEnum encoding, RequestDetails request) {
    try {
      return (Resource)
          encoding
              .newParser(request.getFhirContext())
              .parseResource(new String(body, StandardCharsets.UTF_8));
    } catch (DataFormatException narrative) {
      throw Problem.of(Problem.Kind.MALFORMED, "A narrative of the resource cannot be read.");
    }
  }

  private static Optional<Resource> resource(Parameters parameters) {
    return parameters.getParameter().stream()
        .filter(parameter -> "resource".equals(parameter.getName()))
        .map(ParametersParameterComponent::getResource)
        .findFirst();
  }

  private static Optional<String> value(
      String name, Parameters parameters, RequestDetails request) {
    if (parameters != null && parameters.getParameter(name) != null) {
      return Optional.ofNullable(parameters.getParameter(name).getValue().primitiveValue());
    }
    String[] inAddress = request.getParameters().get(name);
    return inAddress == null ? Optional.empty() : Optional.of(inAddress[0]);
  }
}

package org.tidemark.http;

import ca.uhn.fhir.rest.api.server.RequestDetails;
import java.util.ArrayList;
import java.util.List;
import java.util.Map;
import org.hl7.fhir.r4.model.Parameters;
import org.hl7.fhir.r4.model.Parameters.ParametersParameterComponent;
import org.tidemark.fhir.Problem;

/** The parameters of an operation that takes the same in its address and in its body. */
final class OperationParameters {
  private OperationParameters() {}

  /**
   * The parameters with their values as texts.
   *
   * @param request a request whose body, if it has one, is a Parameters resource
   * @return a map that may be changed
   * @throws Problem when a parameter in the body has no plain value
   */
  static Map<String, List<String>> given(RequestDetails request) {
    Map<String, List<String>> given = QueryText.given(request);
    if (request.getResource() instanceof Parameters body) {
      for (ParametersParameterComponent one : body.getParameter()) {
        given.computeIfAbsent(one.getName(), name -> new ArrayList<>()).add(text(one));
      }
    }
    return given;
  }

  private static String text(ParametersParameterComponent parameter) {
    if (!parameter.hasValue() || !parameter.getValue().isPrimitive()) {
      throw Problem.of(
          Problem.Kind.BAD_REQUEST,
          "'" + parameter.getName() + "' is given as a plain value.",
          "Parameters.parameter.where(name='" + parameter.getName() + "')");
    }
    return parameter.getValue().primitiveValue();
  }
}

package org.tidemark.recordsystem;

import ca.uhn.fhir.rest.annotation.Operation;
import ca.uhn.fhir.rest.annotation.ResourceParam;
import ca.uhn.fhir.rest.api.server.RequestDetails;
import jakarta.enterprise.context.ApplicationScoped;
import java.util.Arrays;
import java.util.Optional;
import org.hl7.fhir.instance.model.api.IBaseResource;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.CodeType;
import org.hl7.fhir.r4.model.IntegerType;
import org.hl7.fhir.r4.model.Parameters;
import org.hl7.fhir.r4.model.Parameters.ParametersParameterComponent;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.UriType;
import org.tidemark.fhir.Outcomes;
import org.tidemark.fhir.Problem;
import org.tidemark.http.Operations;

/** The operation by which what another system tells of a person is received. */
@ApplicationScoped
public class ReceiveOperations implements Operations {
  private final ReceivedRecords received;

  ReceiveOperations(ReceivedRecords received) {
    this.received = received;
  }

  /** {@code $receive-records}: the body is the Bundle. */
  @Operation(name = "$receive-records")
  public Parameters receive(@ResourceParam IBaseResource body, RequestDetails request) {
    if (!(body instanceof Bundle bundle)) {
      throw Problem.of(Problem.Kind.BAD_REQUEST, "The body is a Bundle.", "Bundle");
    }
    String[] given = request.getParameters().getOrDefault("patient", new String[0]);
    Optional<String> patient =
        Arrays.stream(given).findFirst().map(id -> id.replaceFirst("^Patient/", ""));
    ReceivedRecords.Receipt receipt = received.take(bundle, patient);
    Parameters answer = new Parameters();
    receipt
        .people()
        .forEach(person -> answer.addParameter().setName("person").setValue(new Reference(person)));
    answer.addParameter("written", new IntegerType(receipt.written()));
    answer.addParameter("known", new IntegerType(receipt.known()));
    receipt
        .leftOut()
        .forEach(
            (type, number) -> {
              ParametersParameterComponent left = answer.addParameter().setName("left-out");
              left.addPart().setName("type").setValue(new CodeType(type));
              left.addPart().setName("number").setValue(new IntegerType(number));
            });
    receipt
        .refused()
        .forEach(
            one -> {
              ParametersParameterComponent refused = answer.addParameter().setName("refused");
              refused.addPart().setName("record").setValue(new UriType(one.fullUrl()));
              refused.addPart().setName("outcome").setResource(Outcomes.of(one.problem()));
            });
    return answer;
  }
}

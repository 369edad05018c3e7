package org.tidemark.exchange;

import ca.uhn.fhir.context.FhirContext;
import ca.uhn.fhir.rest.annotation.IdParam;
import ca.uhn.fhir.rest.annotation.Operation;
import ca.uhn.fhir.rest.annotation.OperationParam;
import ca.uhn.fhir.rest.api.server.RequestDetails;
import jakarta.enterprise.context.ApplicationScoped;
import java.nio.charset.StandardCharsets;
import java.util.Arrays;
import java.util.List;
import java.util.Optional;
import org.hl7.fhir.r4.model.BooleanType;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.Bundle.BundleEntryComponent;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.CodeType;
import org.hl7.fhir.r4.model.IdType;
import org.hl7.fhir.r4.model.Identifier;
import org.hl7.fhir.r4.model.Parameters;
import org.hl7.fhir.r4.model.PrimitiveType;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.UriType;
import org.tidemark.application.Handovers;
import org.tidemark.application.Limits;
import org.tidemark.application.Receipt;
import org.tidemark.application.Receiving;
import org.tidemark.fhir.DocumentText;
import org.tidemark.fhir.Problem;
import org.tidemark.fhir.SentDocument;
import org.tidemark.http.DocumentAnswers;
import org.tidemark.http.Operations;

/** The operations by which a plan moves from one clinic to another. */
@ApplicationScoped
public class HandoverOperations implements Operations {
  private static final String DOCUMENT = "document";
  private static final String TRANSACTION = "transaction";

  private final Handovers handovers;
  private final Receiving receiving;
  private final DocumentSignature signature;
  private final FhirContext context;
  private final Limits limits;

  HandoverOperations(
      Handovers handovers,
      Receiving receiving,
      DocumentSignature signature,
      FhirContext context,
      Limits limits) {
    this.context = context;
    this.limits = limits;
    this.handovers = handovers;
    this.receiving = receiving;
    this.signature = signature;
  }

  /**
   * {@code CarePlan/[id]/$handover}: everything that a plan rests on, as a signed document, or as a
   * transaction for an R4 server that knows no documents.
   */
  @Operation(name = "$handover", type = CarePlan.class, idempotent = true)
  public Bundle handover(
      @IdParam IdType id, @OperationParam(name = "form") CodeType form, RequestDetails request) {
    String wanted = form == null || !form.hasValue() ? DOCUMENT : form.getValue();
    return switch (wanted) {
      case DOCUMENT -> document(handovers.document(id.getIdPart()), request);
      case TRANSACTION -> handovers.transaction(id.getIdPart());
      default ->
          throw Problem.of(
              Problem.Kind.BAD_REQUEST,
              "The form is document or transaction, not '" + wanted + "'.",
              "Parameters.parameter.where(name='form')");
    };
  }

  /** Signs it; where it is sent as text, its elements are not kept besides. */
  private Bundle document(Bundle document, RequestDetails request) {
    boolean plain = DocumentAnswers.isPlain(request);
    List<BundleEntryComponent> elements = plain ? List.of() : document.getEntry();
    DocumentText text = DocumentText.taking(context, document);
    if (plain) {
      DocumentAnswers.remember(request, text);
    } else {
      document.setEntry(elements);
    }
    return document.setSignature(signature.sign(text, handovers.organisation()));
  }

  /**
   * {@code $receive-handover}: takes the plan of a document over, whose clinic is trusted and has
   * signed it. The body is the document.
   */
  @Operation(name = "$receive-handover", manualRequest = true)
  public Parameters receive(RequestDetails request) {
    requireJson(request);
    byte[] body = request.loadRequestContents();
    SentDocument sent = new SentDocument(context, limits.depth(), body);
    // What is signed is judged as it was sent, not as it was read: numbers keep their digits.
    signature.require(sent.head(), new String(body, StandardCharsets.UTF_8));
    Bundle document = sent.whole();
    Receipt receipt = receiving.receive(document, patient(request));
    Parameters answer = new Parameters();
    answer.addParameter().setName("plan").setValue(new Reference(receipt.plan()));
    answer.addParameter().setName("person").setValue(new Reference(receipt.person()));
    answer
        .addParameter()
        .setName(DOCUMENT)
        .setValue(
            new Identifier()
                .setSystem(document.getIdentifier().getSystem())
                .setValue(receipt.document()));
    answer.addParameter().setName("changed").setValue(new BooleanType(receipt.changed()));
    return answer;
  }

  private static void requireJson(RequestDetails request) {
    if (!String.valueOf(request.getHeader("Content-Type")).contains("json")) {
      throw Problem.of(
          Problem.Kind.UNSUPPORTED_FORMAT,
          "A document is signed over its JSON, and sent as application/fhir+json.");
    }
  }

  private static Optional<String> patient(RequestDetails request) {
    String[] given = request.getParameters().getOrDefault("patient", new String[0]);
    return Arrays.stream(given).findFirst().map(id -> new IdType(id).getIdPart());
  }

  /**
   * {@code CarePlan/[id]/$close-handover}: ends a plan that another clinic has received and goes on
   * with, and points to where.
   */
  @Operation(name = "$close-handover", type = CarePlan.class)
  public CarePlan close(
      @IdParam IdType id,
      @OperationParam(name = DOCUMENT) Identifier document,
      @OperationParam(name = "successor") UriType successor) {
    required(DOCUMENT, document == null ? null : document.getValueElement());
    required("successor", successor);
    return handovers.close(id.getIdPart(), document.getValue(), successor.getValue());
  }

  private static void required(String name, PrimitiveType<?> value) {
    if (value == null || !value.hasValue()) {
      throw Problem.of(
          Problem.Kind.MISSING,
          "'" + name + "' is needed.",
          "Parameters.parameter.where(name='" + name + "')");
    }
  }
}

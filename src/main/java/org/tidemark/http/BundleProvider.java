package org.tidemark.http;

import ca.uhn.fhir.rest.annotation.History;
import ca.uhn.fhir.rest.annotation.Transaction;
import ca.uhn.fhir.rest.annotation.TransactionParam;
import ca.uhn.fhir.rest.api.server.RequestDetails;
import java.util.Optional;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.Bundle.BundleEntryComponent;
import org.tidemark.application.Histories;
import org.tidemark.application.Records;
import org.tidemark.application.Repeats;
import org.tidemark.fhir.Problem;
import org.tidemark.fhir.References;

/** Carries out Bundles that are sent to the base of the server, and reads its whole history. */
final class BundleProvider {
  private final Records records;
  private final HistoryBundles past;
  private final Repeats repeats;

  BundleProvider(Records records, Histories histories, References references, Repeats repeats) {
    this.records = records;
    this.repeats = repeats;
    this.past = new HistoryBundles(histories, references);
  }

  /** The history of all records. */
  @History
  public Bundle history(RequestDetails request) {
    return past.read(Optional.empty(), Optional.empty(), request);
  }

  /**
   * Carries out a transaction or batch. What was written is in the answer only when the client
   * prefers {@code return=representation}; what was read always is.
   */
  @Transaction
  public Bundle run(@TransactionParam Bundle bundle, RequestDetails request) {
    repeats.condition(bundle);
    Bundle answer =
        switch (bundle.getType()) {
          case TRANSACTION -> records.transact(bundle);
          case BATCH -> records.batch(bundle);
          default ->
              throw Problem.of(
                  Problem.Kind.BAD_REQUEST,
                  "A Bundle sent here must be a transaction or a batch.",
                  "Bundle.type");
        };
    String prefer = request.getHeader("Prefer");
    if (prefer == null || !prefer.contains("return=representation")) {
      for (int i = 0; i < bundle.getEntry().size(); i++) {
        if (bundle.getEntry().get(i).getRequest().getMethod() != Bundle.HTTPVerb.GET) {
          BundleEntryComponent entry = answer.getEntry().get(i);
          entry.setResource(null);
        }
      }
    }
    return answer;
  }
}

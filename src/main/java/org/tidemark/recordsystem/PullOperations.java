package org.tidemark.recordsystem;

import ca.uhn.fhir.context.FhirContext;
import ca.uhn.fhir.rest.annotation.Operation;
import io.quarkus.narayana.jta.QuarkusTransaction;
import jakarta.enterprise.context.ApplicationScoped;
import java.util.Date;
import java.util.Optional;
import org.hl7.fhir.r4.model.InstantType;
import org.hl7.fhir.r4.model.IntegerType;
import org.hl7.fhir.r4.model.OperationOutcome;
import org.hl7.fhir.r4.model.Parameters;
import org.hl7.fhir.r4.model.StringType;
import org.hl7.fhir.r4.model.UriType;
import org.tidemark.application.Guard;
import org.tidemark.http.Operations;
import org.tidemark.store.PullStore;
import org.tidemark.store.PullStore.Refused;
import org.tidemark.store.PullStore.State;

/** Tells how fetching from the record system stands. */
@ApplicationScoped
public class PullOperations implements Operations {
  /** So many that were refused are told, the latest. */
  private static final int MOST = 500;

  private final RecordSystems systems;
  private final PullStore store;
  private final Guard guard;
  private final FhirContext context;

  PullOperations(RecordSystems systems, PullStore store, Guard guard, FhirContext context) {
    this.systems = systems;
    this.store = store;
    this.guard = guard;
    this.context = context;
  }

  /**
   * {@code $pull-status}: from where Observations are fetched, up to when it has been, what hinders
   * it, and which were refused and why.
   */
  @Operation(name = "$pull-status", idempotent = true)
  public Parameters status() {
    guard.requireClinic();
    Parameters answer = new Parameters();
    systems
        .find()
        .map(RecordSystem::source)
        .ifPresent(source -> QuarkusTransaction.joiningExisting().run(() -> tell(source, answer)));
    return answer;
  }

  private void tell(String source, Parameters answer) {
    answer.addParameter().setName("source").setValue(new UriType(source));
    Optional<State> state = store.find(source);
    state.ifPresent(
        known -> {
          if (known.reachedMs() != PullStore.NOWHERE) {
            answer.addParameter().setName("reached").setValue(moment(known.reachedMs()));
          }
          answer.addParameter().setName("failures").setValue(new IntegerType(known.failures()));
          if (!known.problem().isEmpty()) {
            answer.addParameter().setName("problem").setValue(new StringType(known.problem()));
            answer.addParameter().setName("next").setValue(moment(known.dueMs()));
          }
        });
    store.refused(source, MOST).forEach(refused -> tell(source, refused, answer));
  }

  private void tell(String source, Refused refused, Parameters answer) {
    Parameters.ParametersParameterComponent told = answer.addParameter().setName("refused");
    told.addPart()
        .setName("observation")
        .setValue(
            new UriType(source + "Observation/" + refused.id() + "/_history/" + refused.version()));
    told.addPart().setName("when").setValue(moment(refused.refusedMs()));
    told.addPart()
        .setName("outcome")
        .setResource(
            context.newJsonParser().parseResource(OperationOutcome.class, refused.outcome()));
  }

  private static InstantType moment(long ms) {
    return new InstantType(new Date(ms));
  }
}

package org.tidemark.recordsystem;

import ca.uhn.fhir.context.FhirContext;
import ca.uhn.fhir.rest.annotation.Operation;
import ca.uhn.fhir.rest.annotation.OperationParam;
import io.quarkus.narayana.jta.QuarkusTransaction;
import jakarta.enterprise.context.ApplicationScoped;
import java.time.Clock;
import java.util.Date;
import java.util.List;
import java.util.Optional;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.CodeType;
import org.hl7.fhir.r4.model.InstantType;
import org.hl7.fhir.r4.model.IntegerType;
import org.hl7.fhir.r4.model.OperationOutcome;
import org.hl7.fhir.r4.model.Parameters;
import org.hl7.fhir.r4.model.Parameters.ParametersParameterComponent;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.StringType;
import org.hl7.fhir.r4.model.UriType;
import org.tidemark.application.Guard;
import org.tidemark.application.Records;
import org.tidemark.fhir.Problem;
import org.tidemark.fhir.References;
import org.tidemark.http.Operations;
import org.tidemark.store.WriteBackStore;
import org.tidemark.store.WriteBackStore.Pending;
import org.tidemark.store.WriteBackStore.There;

/** Tells how writing back to the record system stands, and decides where both sides changed. */
@ApplicationScoped
public class WriteBackOperations implements Operations {
  /** So many plans, and so many records, are told. */
  private static final int MOST = 500;

  private final WriteBack writeBack;
  private final WriteBackStore store;
  private final Records records;
  private final Guard guard;
  private final References references;
  private final FhirContext context;
  private final Clock clock;

  WriteBackOperations(
      WriteBack writeBack,
      WriteBackStore store,
      Records records,
      Guard guard,
      References references,
      FhirContext context,
      Clock clock) {
    this.writeBack = writeBack;
    this.store = store;
    this.records = records;
    this.guard = guard;
    this.references = references;
    this.context = context;
    this.clock = clock;
  }

  /**
   * {@code $write-back-status}: where plans are written to, which wait and why, and which records
   * were changed there in a way that could not be taken here.
   */
  @Operation(name = "$write-back-status", idempotent = true)
  public Parameters status() {
    guard.requireClinic();
    Parameters answer = new Parameters();
    writeBack
        .system()
        .map(RecordSystem::source)
        .ifPresent(source -> QuarkusTransaction.joiningExisting().run(() -> tell(source, answer)));
    return answer;
  }

  private void tell(String source, Parameters answer) {
    answer.addParameter().setName("target").setValue(new UriType(source));
    for (Pending pending : store.pending(source, MOST)) {
      ParametersParameterComponent told = answer.addParameter().setName("waiting");
      told.addPart().setName("plan").setValue(new Reference("CarePlan/" + pending.planId()));
      if (pending.sinceMs() > 0) {
        told.addPart().setName("since").setValue(moment(pending.sinceMs()));
      }
      told.addPart().setName("failures").setValue(new IntegerType(pending.failures()));
      if (!pending.problem().isEmpty()) {
        told.addPart().setName("problem").setValue(new StringType(pending.problem()));
        told.addPart().setName("next").setValue(moment(pending.dueMs()));
      }
    }
    for (There there : store.clashes(source, MOST)) {
      ParametersParameterComponent told = answer.addParameter().setName("conflict");
      told.addPart().setName("record").setValue(new Reference(there.reference()));
      told.addPart()
          .setName("there")
          .setValue(new UriType(source + there.type() + "/" + there.thereId()));
      told.addPart()
          .setName("outcome")
          .setResource(
              context.newJsonParser().parseResource(OperationOutcome.class, there.clash()));
    }
  }

  private static InstantType moment(long ms) {
    return new InstantType(new Date(ms));
  }

  /**
   * {@code $write-back}: writes a plan, now.
   *
   * @param plan the CarePlan
   * @param record one of its records that was changed on both sides
   * @param keep what becomes of that: {@code here} to write ours over what was seen there, {@code
   *     there} to leave it as it is there from now on
   */
  @Operation(name = "$write-back")
  public Parameters write(
      @OperationParam(name = "plan", min = 1) Reference plan,
      @OperationParam(name = "record") Reference record,
      @OperationParam(name = "keep") CodeType keep) {
    guard.requireClinic();
    String source =
        writeBack
            .system()
            .map(RecordSystem::source)
            .orElseThrow(
                () ->
                    Problem.of(
                        Problem.Kind.BUSINESS_RULE, "Plans of the clinic are not written back."));
    CarePlan known =
        Optional.ofNullable(plan)
            .map(given -> references.normal(given.getReference()))
            .filter(given -> given.startsWith("CarePlan/"))
            .flatMap(given -> records.find(CarePlan.class, References.idOf(given)))
            .orElseThrow(() -> wrong("plan", "There is no such plan."));
    if ((record == null) != (keep == null)) {
      throw wrong(record == null ? "record" : "keep", "'record' and 'keep' belong together.");
    }
    String planId = known.getIdElement().getIdPart();
    QuarkusTransaction.joiningExisting()
        .run(
            () -> {
              if (record != null) {
                guard.requireClinician("decides what is kept", known);
                decide(source, conflict(source, planId, record), keep.getCode());
              }
              store.markPlan(source, planId, clock.millis());
            });
    return status();
  }

  private There conflict(String source, String planId, Reference record) {
    String reference = references.normal(record.getReference());
    return store.ofPlan(source, planId).stream()
        .filter(there -> there.isClashing() && there.reference().equals(reference))
        .findFirst()
        .orElseThrow(() -> wrong("record", "There is no conflict about this record."));
  }

  private void decide(String source, There there, String keep) {
    if (!List.of("here", "there").contains(keep)) {
      throw wrong("keep", "'keep' is 'here' or 'there'.");
    }
    if (keep.equals("there")) {
      store.note(source, there.written(there.version(), there.clashVersion(), true));
    } else if (there.clashVersion().equals(Attempt.DELETED)) {
      store.forget(source, there);
    } else {
      store.note(source, there.written(0, there.clashVersion(), false));
    }
  }

  private static Problem wrong(String parameter, String text) {
    return Problem.of(
        Problem.Kind.BAD_REQUEST, text, "Parameters.parameter.where(name='" + parameter + "')");
  }
}

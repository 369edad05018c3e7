package org.tidemark.fhir;

import java.time.LocalTime;
import java.time.OffsetDateTime;
import java.time.ZoneId;
import java.util.Arrays;
import java.util.List;
import java.util.Optional;
import java.util.function.Function;
import org.hl7.fhir.r4.model.BaseDateTimeType;
import org.hl7.fhir.r4.model.CanonicalType;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.CarePlan.CarePlanIntent;
import org.hl7.fhir.r4.model.Reference;
import org.tidemark.decision.ChangeControl;
import org.tidemark.programme.Side;
import org.tidemark.response.ResponsePolicy;

/** CarePlans that put a person on a programme. */
public final class EnrolmentReader {
  private static final String PATH = "CarePlan";

  private EnrolmentReader() {}

  /**
   * A person's start on a programme.
   *
   * @param programmeUrl the canonical address of the programme
   * @param programmeVersion its version; empty when the newest is meant
   * @param side the side that the plan is for
   * @param policy how symptoms are read; symptom-free when not said
   * @param control which changes wait; within-stage when not said
   * @param subject the person, as referred to
   * @param start when the plan begins: the start of its period, or when it was created, or now. A
   *     date is the start of that day in the clinic
   */
  public record Enrolment(
      String programmeUrl,
      Optional<String> programmeVersion,
      Side side,
      ResponsePolicy policy,
      ChangeControl control,
      Reference subject,
      OffsetDateTime start) {}

  /**
   * Reads a CarePlan.
   *
   * @param plan as sent
   * @param zone the clinic's time zone
   * @param now the time of the clock
   * @return the enrolment; empty when the plan follows no programme
   * @throws Problem with every fault and the FHIRPath of its element
   */
  public static Optional<Enrolment> read(CarePlan plan, ZoneId zone, OffsetDateTime now) {
    List<CanonicalType> canonicals = plan.getInstantiatesCanonical();
    if (canonicals.isEmpty()) {
      return Optional.empty();
    }
    Findings findings = new Findings();
    if (canonicals.size() > 1) {
      findings.refuse(
          Problem.Kind.BUSINESS_RULE,
          "A plan follows one programme: send one plan for each.",
          "CarePlan.instantiatesCanonical[1]");
    }
    if (!plan.hasStatus()) {
      findings.refuse(Problem.Kind.MISSING, "The status is needed.", "CarePlan.status");
    }
    if (plan.getIntent() != CarePlanIntent.PLAN) {
      findings.refuse(
          plan.hasIntent() ? Problem.Kind.BUSINESS_RULE : Problem.Kind.MISSING,
          "The intent of a plan that follows a programme is plan.",
          "CarePlan.intent");
    }
    if (!plan.getSubject().hasReference() && !plan.getSubject().hasIdentifier()) {
      findings.refuse(Problem.Kind.MISSING, "The person is needed.", "CarePlan.subject");
    }
    Optional<Side> side =
        findings.read(
            () ->
                oneOf(
                    ExtensionReader.get(plan.getExtension(), Codes.SIDE, PATH),
                    Side.values(),
                    Side::code));
    ResponsePolicy policy =
        chosen(
            plan,
            Codes.RESPONSE_POLICY,
            ResponsePolicy.values(),
            ResponsePolicy::code,
            ResponsePolicy.SYMPTOM_FREE,
            findings);
    ChangeControl control =
        chosen(
            plan,
            Codes.CHANGE_CONTROL,
            ChangeControl.values(),
            ChangeControl::code,
            ChangeControl.WITHIN_STAGE,
            findings);
    OffsetDateTime start = start(plan, new TimeReader(zone), findings).orElse(now);
    findings.check();
    String canonical = canonicals.get(0).getValue();
    int bar = canonical.indexOf('|');
    return side.map(
        known ->
            new Enrolment(
                bar < 0 ? canonical : canonical.substring(0, bar),
                Optional.of(canonical.substring(bar + 1))
                    .filter(version -> bar >= 0 && !version.isBlank()),
                known,
                policy,
                control,
                plan.getSubject(),
                start));
  }

  private static Optional<OffsetDateTime> start(
      CarePlan plan, TimeReader times, Findings findings) {
    return findings
        .find(() -> start(plan.getPeriod().getStartElement(), times, "CarePlan.period.start"))
        .or(() -> findings.find(() -> start(plan.getCreatedElement(), times, "CarePlan.created")));
  }

  private static Optional<OffsetDateTime> start(
      BaseDateTimeType time, TimeReader times, String path) {
    return times
        .moment(time, LocalTime.MIDNIGHT, path)
        .or(() -> times.firstDay(time, path).map(times::startOf));
  }

  private static <T> T chosen(
      CarePlan plan,
      String url,
      T[] values,
      Function<T, String> code,
      T otherwise,
      Findings findings) {
    return findings
        .find(
            () ->
                ExtensionReader.find(plan.getExtension(), url, PATH)
                    .map(found -> oneOf(found, values, code)))
        .orElse(otherwise);
  }

  private static <T> T oneOf(ExtensionReader found, T[] values, Function<T, String> code) {
    String sent = found.code();
    return Arrays.stream(values)
        .filter(value -> code.apply(value).equals(sent))
        .findFirst()
        .orElseThrow(
            () ->
                Problem.of(
                    Problem.Kind.UNSUPPORTED,
                    "'"
                        + sent
                        + "' is not one of "
                        + Arrays.stream(values).map(code).toList()
                        + ".",
                    found.valuePath()));
  }
}

package org.tidemark.fhir;

import java.math.BigDecimal;
import java.math.RoundingMode;
import java.util.Map;
import java.util.Optional;
import java.util.TreeMap;
import org.hl7.fhir.r4.model.Coding;
import org.hl7.fhir.r4.model.IntegerType;
import org.hl7.fhir.r4.model.ServiceRequest;
import org.hl7.fhir.r4.model.Timing;
import org.hl7.fhir.r4.model.Timing.TimingRepeatComponent;
import org.tidemark.programme.Dose;
import org.tidemark.programme.Exercise;
import org.tidemark.programme.Prescription;
import org.tidemark.programme.Programme;
import org.tidemark.programme.ProgressionVariable;
import org.tidemark.programme.Setting;
import org.tidemark.programme.Variation;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Grade;
import org.tidemark.quantity.Unit;
import org.tidemark.quantity.Value;

/** ServiceRequests as prescriptions of a programme, such as a clinician writes to override ours. */
public final class PrescriptionReader {
  private static final String PATH = "ServiceRequest";
  private static final String TIMING = "ServiceRequest.occurrence";

  /** The most sets of an exercise, included; more is a slip (common practice). */
  private static final int MOST_SETS = 20;

  /** The most repetitions in a set, included; more is a slip (common practice). */
  private static final int MOST_REPETITIONS = 500;

  /** The longest hold, s, included (common practice). */
  private static final int LONGEST_HOLD_SECONDS = 3600;

  /** The longest set, s, included (common practice). */
  private static final int LONGEST_SET_SECONDS = 14_400;

  /** The most sessions in a week, included: three a day. */
  private static final int MOST_PER_WEEK = 21;

  /**
   * The greatest that an exercise of the body is set to, included; more is a slip (common
   * practice).
   */
  private static final Map<Unit, Integer> MOST =
      Map.of(
          Unit.CENTIMETRE, 200,
          Unit.DEGREE, 180,
          Unit.KILOGRAM, 200,
          Unit.MINUTE, 240,
          Unit.SECOND, 3600);

  private final ServiceRequest request;
  private final Programme programme;
  private final Optional<Prescription> standing;
  private final Findings findings = new Findings();

  private PrescriptionReader(
      ServiceRequest request, Programme programme, Optional<Prescription> standing) {
    this.request = request;
    this.programme = programme;
    this.standing = standing;
  }

  /**
   * Reads a ServiceRequest.
   *
   * @param request as sent
   * @param programme the programme that it belongs to
   * @param standing the prescription that it replaces; what that sets for the same variation must
   *     be set by the new one too
   * @return what is asked
   * @throws Problem with every fault and the FHIRPath of its element
   */
  public static Prescription read(
      ServiceRequest request, Programme programme, Optional<Prescription> standing) {
    return new PrescriptionReader(request, programme, standing).read();
  }

  /**
   * The prescription as a session says that it was done.
   *
   * @param asked what was asked
   * @param done the settings that the session reports; the others were as asked
   * @param programme the programme
   * @return what was done
   * @throws Problem naming the component of the Observation whose variable or value the variation
   *     does not have
   */
  public static Prescription done(Prescription asked, Setting done, Programme programme) {
    Variation variation = programme.variation(asked.variation()).orElseThrow();
    Setting setting = asked.setting();
    for (Map.Entry<String, Value> entry : done.values().entrySet()) {
      String code = entry.getKey();
      boolean fits =
          variation.variable(code).filter(known -> known.accepts(entry.getValue())).isPresent();
      if (!fits) {
        throw Problem.of(
            Problem.Kind.UNSUPPORTED,
            "The exercise '" + variation.code() + "' cannot be set so by '" + code + "'.",
            "Observation.component.where(code.coding.code='" + code + "').value");
      }
      setting = setting.with(code, entry.getValue());
    }
    return new Prescription(asked.stage(), asked.variation(), setting, asked.dose());
  }

  /**
   * What an order that may still be in draft sets an exercise to so far; what it leaves open is not
   * in it.
   *
   * @param request as sent
   * @param variation the exercise that it orders
   * @param programme the programme that the exercise belongs to
   * @throws Problem with every fault and the FHIRPath of its element
   */
  public static Setting setting(ServiceRequest request, Variation variation, Programme programme) {
    PrescriptionReader reader = new PrescriptionReader(request, programme, Optional.empty());
    Map<String, Value> values = new TreeMap<>();
    reader.settings(variation, values);
    reader.findings.check();
    return new Setting(values);
  }

  private Prescription read() {
    Optional<String> stage = findings.read(this::stage);
    Optional<String> variationCode = findings.read(this::variation);
    Optional<Exercise> exercise =
        stage.flatMap(known -> variationCode.flatMap(code -> programme.exercise(known, code)));
    if (stage.isPresent() && variationCode.isPresent() && exercise.isEmpty()) {
      findings.refuse(
          Problem.Kind.UNSUPPORTED,
          "The stage '" + stage.get() + "' has no exercise '" + variationCode.get() + "'.",
          "ServiceRequest.code");
    }
    Optional<Dose> dose = findings.read(this::dose);
    Map<String, Value> values = new TreeMap<>();
    exercise.map(Exercise::variation).ifPresent(variation -> settings(variation, values));
    findings.check();
    Variation variation = exercise.orElseThrow().variation();
    return new Prescription(
        stage.orElseThrow(), variation.code(), new Setting(values), dose.orElseThrow());
  }

  private String stage() {
    ExtensionReader found = ExtensionReader.get(request.getExtension(), Codes.STAGE_OF, PATH);
    String code = found.code();
    if (programme.stage(code).isEmpty()) {
      throw Problem.of(
          Problem.Kind.UNSUPPORTED,
          "The programme has no stage '" + code + "'.",
          found.valuePath());
    }
    return code;
  }

  private String variation() {
    String code =
        request.getCode().getCoding().stream()
            .filter(coding -> Codes.EXERCISE_VARIATION.equals(coding.getSystem()))
            .map(Coding::getCode)
            .findFirst()
            .orElseThrow(
                () ->
                    Problem.of(
                        Problem.Kind.MISSING,
                        "The exercise is needed as a code of " + Codes.EXERCISE_VARIATION + ".",
                        "ServiceRequest.code"));
    if (programme.variation(code).isEmpty()) {
      throw Problem.of(
          Problem.Kind.UNSUPPORTED,
          "The programme has no exercise '" + code + "'.",
          "ServiceRequest.code");
    }
    return code;
  }

  private void settings(Variation variation, Map<String, Value> values) {
    for (ExtensionReader found : ExtensionReader.all(request.getExtension(), Codes.SETTING, PATH)) {
      Optional<ProgressionVariable> variable =
          findings.read(() -> variable(found.part("variable"), variation));
      Optional<Value> value =
          variable.flatMap(known -> findings.read(() -> value(found.part("value"), known)));
      if (value.isPresent() && values.putIfAbsent(variable.get().code(), value.get()) != null) {
        findings.refuse(
            Problem.Kind.BUSINESS_RULE,
            "'" + variable.get().code() + "' is set once.",
            found.path());
      }
    }
    standing
        .filter(before -> before.variation().equals(variation.code()))
        .ifPresent(before -> checkAllSet(before, values));
  }

  private void checkAllSet(Prescription before, Map<String, Value> values) {
    before.setting().values().keySet().stream()
        .filter(code -> !values.containsKey(code))
        .forEach(
            code ->
                findings.refuse(
                    Problem.Kind.MISSING,
                    "The setting of '" + code + "' is needed.",
                    ExtensionReader.pathOf(PATH, Codes.SETTING)));
  }

  private static ProgressionVariable variable(ExtensionReader found, Variation variation) {
    String code = found.code();
    return variation
        .variable(code)
        .orElseThrow(
            () ->
                Problem.of(
                    Problem.Kind.UNSUPPORTED,
                    "The exercise '" + variation.code() + "' is not set by '" + code + "'.",
                    found.valuePath()));
  }

  private static Value value(ExtensionReader found, ProgressionVariable variable) {
    String path = found.valuePath();
    Optional<Unit> unit = Measures.unitOf(variable);
    Value value =
        unit.isPresent()
            ? Units.amount(found.quantity(), unit.get(), path)
            : new Grade(found.code());
    if (!variable.accepts(value) || isSlip(value)) {
      throw Problem.of(
          unit.isPresent() ? Problem.Kind.OUT_OF_RANGE : Problem.Kind.UNSUPPORTED,
          "'" + variable.code() + "' cannot be set to " + said(value) + ".",
          path);
    }
    return value;
  }

  private static boolean isSlip(Value value) {
    return value instanceof Amount amount
        && MOST.containsKey(amount.unit())
        && amount.value().compareTo(BigDecimal.valueOf(MOST.get(amount.unit()))) > 0;
  }

  private static String said(Value value) {
    return value instanceof Grade grade ? "'" + grade.code() + "'" : value.toString();
  }

  private Dose dose() {
    ExtensionReader found = ExtensionReader.get(request.getExtension(), Codes.DOSE, PATH);
    Optional<Integer> sets = findings.find(() -> count(found, "sets", MOST_SETS));
    Optional<Integer> repetitions =
        findings.find(() -> count(found, "repetitions", MOST_REPETITIONS));
    Optional<Integer> hold = findings.find(() -> seconds(found, "hold", LONGEST_HOLD_SECONDS));
    Optional<Integer> time = findings.find(() -> seconds(found, "time", LONGEST_SET_SECONDS));
    Optional<Integer> perWeek = findings.read(this::timesPerWeek);
    if (!found.extension().hasExtension("sets")) {
      throw Problem.of(
          Problem.Kind.MISSING,
          "The number of sets is needed.",
          ExtensionReader.pathOf(found.path(), "sets"));
    }
    boolean measured =
        found.extension().hasExtension("repetitions")
            || found.extension().hasExtension("hold")
            || found.extension().hasExtension("time");
    if (!measured) {
      throw Problem.of(
          Problem.Kind.MISSING, "A dose needs repetitions, a hold or a time.", found.path());
    }
    return new Dose(
        sets.orElse(1), repetitions.orElse(0), hold.orElse(0), time.orElse(0), perWeek.orElse(1));
  }

  private static Optional<Integer> count(ExtensionReader dose, String part, int most) {
    return dose.findPart(part)
        .map(
            found ->
                within(
                    found.value(IntegerType.class, "positiveInt").getValue(),
                    most,
                    part,
                    found.valuePath()));
  }

  private static Optional<Integer> seconds(ExtensionReader dose, String part, int most) {
    return dose.findPart(part)
        .map(
            found -> {
              Amount amount = Units.amount(found.quantity(), Unit.SECOND, found.valuePath());
              return within(
                  amount.value().setScale(0, RoundingMode.HALF_UP).intValue(),
                  most,
                  part,
                  found.valuePath());
            });
  }

  private static int within(int number, int most, String what, String path) {
    if (number < 1 || number > most) {
      throw Problem.of(
          Problem.Kind.OUT_OF_RANGE,
          "'" + what + "' must be 1 to " + most + ", was " + number + ".",
          path);
    }
    return number;
  }

  /** Sessions in a week; a part of a session is not asked for, so 3.5 in a week are 3. */
  private int timesPerWeek() {
    if (!(request.getOccurrence() instanceof Timing timing) || !timing.hasRepeat()) {
      throw Problem.of(Problem.Kind.MISSING, "How often it is done is needed.", TIMING);
    }
    TimingRepeatComponent repeat = timing.getRepeat();
    if (!repeat.hasPeriodUnit() || repeat.hasDayOfWeek()) {
      throw Problem.of(
          Problem.Kind.UNSUPPORTED,
          "How often it is done is given as a frequency in a period of days or weeks.",
          TIMING + ".repeat");
    }
    BigDecimal daysInUnit =
        switch (repeat.getPeriodUnit()) {
          case D -> BigDecimal.ONE;
          case WK -> BigDecimal.valueOf(7);
          default ->
              throw Problem.of(
                  Problem.Kind.UNSUPPORTED,
                  "The period is given in days or weeks.",
                  TIMING + ".repeat.periodUnit");
        };
    BigDecimal period = repeat.hasPeriod() ? repeat.getPeriod() : BigDecimal.ONE;
    int frequency = repeat.hasFrequency() ? repeat.getFrequency() : 1;
    if (period.signum() <= 0) {
      throw Problem.of(
          Problem.Kind.OUT_OF_RANGE, "The period must be above 0.", TIMING + ".repeat.period");
    }
    int times =
        BigDecimal.valueOf(7L * frequency)
            .divide(period.multiply(daysInUnit), 0, RoundingMode.DOWN)
            .intValue();
    return within(times, MOST_PER_WEEK, "times a week", TIMING + ".repeat");
  }
}

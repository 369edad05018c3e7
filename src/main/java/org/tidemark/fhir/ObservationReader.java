package org.tidemark.fhir;

import java.math.RoundingMode;
import java.time.Duration;
import java.time.OffsetDateTime;
import java.time.ZoneId;
import java.time.ZoneOffset;
import java.util.ArrayList;
import java.util.EnumSet;
import java.util.List;
import java.util.Map;
import java.util.Objects;
import java.util.Optional;
import java.util.Set;
import org.hl7.fhir.r4.model.Coding;
import org.hl7.fhir.r4.model.Observation;
import org.hl7.fhir.r4.model.Observation.ObservationStatus;
import org.hl7.fhir.r4.model.Quantity;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.Type;
import org.tidemark.decision.Fact;
import org.tidemark.decision.FactSource;
import org.tidemark.programme.Equipment;
import org.tidemark.programme.Setting;
import org.tidemark.programme.Side;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.PainScore;
import org.tidemark.response.Morning;
import org.tidemark.response.Session;

/**
 * Observations as facts: our own panels, our own items alone, and bare codes of other systems.
 *
 * <p>A date without a time is a day of the clinic: a session is taken to have been at noon, a
 * morning at 08:00, anything else at the start of the day. Where the time of day decides what a
 * pain score means, a date alone is in doubt.
 */
public final class ObservationReader {
  /** A report may be this far ahead of the clock, included: clocks and time zones differ. */
  private static final Duration MOST_AHEAD = Duration.ofHours(24);

  /** What is dated before this is a slip of the pen: no plan is as old (common practice). */
  private static final OffsetDateTime EARLIEST =
      OffsetDateTime.of(2000, 1, 1, 0, 0, 0, 0, ZoneOffset.UTC);

  /** The longest session, included (common practice). */
  private static final Duration LONGEST_SESSION = Duration.ofHours(4);

  private static final int MOST_COMPONENTS = 60;

  /** How a measurement was taken. */
  private static final Set<String> METHODS =
      Set.of("goniometer", "inclinometer", "phone", "visual", "self-measured");

  private static final Set<ObservationStatus> COMPUTED =
      EnumSet.of(ObservationStatus.FINAL, ObservationStatus.AMENDED, ObservationStatus.CORRECTED);

  private static final String EFFECTIVE = "Observation.effective";
  private static final String VALUE = "Observation.value";

  private static final Item PAIN = Item.find(Codes.REPORT_ITEM, "pain-during").orElseThrow();
  private static final Item TIME = Item.find(Codes.REPORT_ITEM, "time-done").orElseThrow();

  private final ReadingMap map;
  private final Measures measures;
  private final TimeReader times;

  /**
   * A reader for one clinic.
   *
   * @param map the codes of other systems that the programmes in use understand
   * @param measures the units of the measures that these programmes set
   * @param zone the clinic's time zone
   */
  public ObservationReader(ReadingMap map, Measures measures, ZoneId zone) {
    this.map = map;
    this.measures = measures;
    this.times = new TimeReader(zone);
  }

  /**
   * Reads an Observation.
   *
   * @param observation as sent
   * @param source where the facts are to say that they were read
   * @param now the time of the clock
   * @return what it is
   * @throws Problem when it must be refused, with every fault and the FHIRPath of its element
   */
  public Intake read(Observation observation, FactSource source, OffsetDateTime now) {
    Findings findings = new Findings();
    checkRoot(observation, findings);
    findings.check();
    if (!COMPUTED.contains(observation.getStatus())) {
      return new Intake.NotForUs(
          "Its status is " + observation.getStatus().toCode() + ": nothing is computed from it.");
    }
    Optional<Meaning> meaning = Meaning.read(observation.getCode(), map, findings);
    findings.check();
    if (meaning.isEmpty()) {
      return new Intake.NotForUs("Its code means nothing to the programmes in use.");
    }
    return new Reading(observation, meaning.get(), source, now, findings).read();
  }

  private static void checkRoot(Observation observation, Findings findings) {
    Reference subject = observation.getSubject();
    if (!subject.hasReference() && !subject.hasIdentifier()) {
      findings.refuse(Problem.Kind.MISSING, "The person is needed.", "Observation.subject");
    }
    if (!observation.hasStatus()) {
      findings.refuse(Problem.Kind.MISSING, "The status is needed.", "Observation.status");
    }
    if (!observation.hasCode()) {
      findings.refuse(Problem.Kind.MISSING, "The code is needed.", "Observation.code");
    }
    if (observation.hasValue() && observation.hasDataAbsentReason()) {
      findings.refuse(
          Problem.Kind.BUSINESS_RULE,
          "An Observation has a value or a reason why it has none, not both.",
          "Observation.dataAbsentReason");
    }
  }

  /** The reading of one Observation whose code is known. */
  private final class Reading {
    private final Observation observation;
    private final Meaning meaning;
    private final FactSource source;
    private final OffsetDateTime now;
    private final Findings findings;
    private final AnswerReader answers;

    Reading(
        Observation observation,
        Meaning meaning,
        FactSource source,
        OffsetDateTime now,
        Findings findings) {
      this.observation = observation;
      this.meaning = meaning;
      this.source = source;
      this.now = now;
      this.findings = findings;
      this.answers = new AnswerReader(findings);
    }

    Intake read() {
      Optional<Side> side = side();
      Optional<String> basedOn = basedOn();
      if (meaning.form() == Meaning.Form.DURATION && side.isEmpty() && basedOn.isEmpty()) {
        findings.check();
        return new Intake.NotForUs("It is exercise of no plan: it names no side, no prescription.");
      }
      if (meaning.needsSide() && side.isEmpty() && basedOn.isEmpty()) {
        findings.doubt("It does not say which side it is about.", "Observation.bodySite");
      }
      if (observation.getComponent().size() > MOST_COMPONENTS) {
        findings.refuse(
            Problem.Kind.OUT_OF_RANGE,
            "A report has at most " + MOST_COMPONENTS + " components.",
            "Observation.component");
        findings.check();
      }
      PanelReader.Answers said =
          meaning.form() == Meaning.Form.MEASUREMENT || meaning.form() == Meaning.Form.DURATION
              ? new PanelReader.Answers(Map.of(), Map.of(), Map.of(), Set.of(), Map.of())
              : new PanelReader(meaning.place(), side, map, measures, findings).read(observation);
      Optional<TimeReader.When> when = when(!said.warnings().isEmpty());
      List<Fact> facts = new ArrayList<>();
      // Without a time the rest is read all the same, so that every fault is told at once.
      TimeReader.When time = when.orElse(new TimeReader.When(now, now, true));
      switch (meaning.form()) {
        case PANEL -> panel(said, time).ifPresent(facts::add);
        case MEASUREMENT -> measurement(time).ifPresent(facts::add);
        case PAIN -> facts.addAll(pain(said, time));
        case DURATION -> duration(time).ifPresent(facts::add);
      }
      findings.check();
      List<Fact.WarningRaised> warnings =
          said.warnings().isEmpty()
              ? List.of()
              : List.of(new Fact.WarningRaised(time.start(), source, said.warnings()));
      Optional<Findings.Doubt> doubt = findings.doubt();
      if (doubt.isPresent()) {
        return new Intake.Parked(doubt.get().reason(), doubt.get().path(), warnings);
      }
      facts.addAll(warnings);
      return new Intake.Facts(
          facts,
          side,
          Sides.regions(observation.getBodySite()),
          basedOn,
          said.settings().isEmpty() ? Optional.empty() : Optional.of(new Setting(said.settings())));
    }

    private Optional<Side> side() {
      Optional<Side> site =
          findings.find(() -> Sides.of(observation.getBodySite(), "Observation.bodySite"));
      if (site.isPresent() && meaning.side().isPresent() && !site.equals(meaning.side())) {
        findings.refuse(
            Problem.Kind.BUSINESS_RULE,
            "The code is for the " + meaning.side().get().code() + " side, the body site is not.",
            "Observation.bodySite");
      }
      return site.or(meaning::side);
    }

    private Optional<String> basedOn() {
      List<Reference> references = observation.getBasedOn();
      Optional<String> found = Optional.empty();
      for (int i = 0; i < references.size(); i++) {
        String reference = references.get(i).getReference();
        if (reference == null || !reference.matches("(.*/)?ServiceRequest/.+")) {
          continue;
        }
        if (found.isPresent()) {
          findings.refuse(
              Problem.Kind.BUSINESS_RULE,
              "A report answers one prescription: send one for each.",
              "Observation.basedOn[" + i + "]");
        }
        found = Optional.of(reference);
      }
      return found;
    }

    private Optional<TimeReader.When> when(boolean warns) {
      Optional<TimeReader.When> when =
          findings.find(
              () -> times.when(observation.getEffective(), meaning.timeOfDay(), EFFECTIVE));
      if (when.isEmpty() && warns) {
        when =
            findings.find(
                () ->
                    times.when(
                        observation.getIssuedElement(), meaning.timeOfDay(), "Observation.issued"));
        if (when.isEmpty()) {
          findings.refuse(
              Problem.Kind.MISSING, "A warning needs the time when it was so.", EFFECTIVE);
        }
      } else if (when.isEmpty()) {
        findings.doubt("It does not say on which day it was.", EFFECTIVE);
      }
      when.ifPresent(this::check);
      return when;
    }

    private void check(TimeReader.When when) {
      if (when.end().toInstant().isAfter(now.toInstant().plus(MOST_AHEAD))) {
        findings.refuse(
            Problem.Kind.FUTURE_DATE,
            "It is dated more than " + MOST_AHEAD.toHours() + " hours ahead.",
            EFFECTIVE);
      }
      if (when.start().toInstant().isBefore(EARLIEST.toInstant())) {
        findings.refuse(
            Problem.Kind.OUT_OF_RANGE,
            "It is dated before " + EARLIEST.toLocalDate() + ".",
            EFFECTIVE);
      }
      if (meaning.isSession() && when.length().compareTo(LONGEST_SESSION) > 0) {
        findings.refuse(
            Problem.Kind.OUT_OF_RANGE,
            "A session lasts at most " + LONGEST_SESSION.toHours() + " hours.",
            EFFECTIVE);
      }
    }

    private Optional<Fact> panel(PanelReader.Answers said, TimeReader.When when) {
      if (observation.hasValue()) {
        findings.refuse(Problem.Kind.UNSUPPORTED, "This report answers in its components.", VALUE);
      }
      OffsetDateTime at = when.start();
      // Nothing answered is no report, but a session without answers was still done.
      boolean silent = said.isEmpty();
      return switch (meaning.place()) {
        case EQUIPMENT ->
            silent
                ? Optional.empty()
                : Optional.of(new Fact.EquipmentListed(at, source, new Equipment(said.pieces())));
        case BASELINE ->
            silent
                ? Optional.empty()
                : Optional.of(new Fact.BaselineTaken(at, source, said.items(), method(), rater()));
        case MORNING ->
            silent
                ? Optional.empty()
                : Optional.of(new Fact.MorningAfter(at, source, morning(said, at)));
        case SESSION ->
            silent && observation.hasDataAbsentReason()
                ? Optional.empty()
                : Optional.of(new Fact.SessionDone(at, source, session(said, when)));
        case WARNING, PAIN_SCORE, ALONE -> Optional.empty();
      };
    }

    private Session session(PanelReader.Answers said, TimeReader.When when) {
      return new Session(
          when.start(),
          when.end(),
          Optional.empty(),
          Optional.empty(),
          said.amount("sets-done").map(this::whole),
          said.amount("repetitions-done").map(this::whole),
          timeInSet(said),
          contact(said),
          said.amount("pain-during").map(this::score),
          said.amount("pain-after").map(this::score),
          said.amount("effort").map(this::score),
          said.amount("effusion-grade").map(this::whole));
    }

    /** The time in a set: as said, or what was held, once for each repetition. */
    private Optional<Integer> timeInSet(PanelReader.Answers said) {
      Optional<Integer> held =
          said.amount("hold-done")
              .map(this::whole)
              .map(
                  hold ->
                      hold
                          * Math.max(
                              1, said.amount("repetitions-done").map(this::whole).orElse(1)));
      return said.amount("time-done").map(this::whole).or(() -> held);
    }

    private Optional<Boolean> contact(PanelReader.Answers said) {
      Optional<Boolean> contact = said.yesNo("contact");
      Optional<Boolean> closed = said.amount("gap").map(Amount::isZero);
      if (contact.isPresent() && closed.isPresent() && !contact.equals(closed)) {
        findings.refuse(
            Problem.Kind.BUSINESS_RULE,
            "The gap and the answer on contact contradict each other.",
            said.paths().get("gap") + ".value");
      }
      return contact.or(() -> closed);
    }

    private Morning morning(PanelReader.Answers said, OffsetDateTime at) {
      return new Morning(
          at,
          said.amount("pain-next-morning").map(this::score),
          said.amount("stiffness").map(this::whole),
          said.yesNo("more-swollen"),
          said.yesNo("would-repeat"),
          said.amount("effusion-grade").map(this::whole));
    }

    private Optional<Fact> measurement(TimeReader.When when) {
      String method = method();
      Optional<Item> item = Item.find(Codes.REPORT_ITEM, meaning.item());
      Type value = observation.getValue();
      if (isWithoutUnit(value)) {
        return Optional.empty();
      }
      Optional<Amount> amount =
          item.isPresent() && item.get().answer() == Item.Answer.AMOUNT
              ? answers.amount(item.get(), value, VALUE)
              : answers
                  .readAny(meaning.item(), value, VALUE)
                  .filter(Amount.class::isInstance)
                  .map(Amount.class::cast);
      return amount.map(
          measured ->
              new Fact.Measured(when.start(), source, meaning.item(), measured, method, rater()));
    }

    /** Whether a bare code comes with a number whose unit must be guessed; it then is in doubt. */
    private boolean isWithoutUnit(Type value) {
      boolean unknown =
          value instanceof Quantity quantity && quantity.hasValue() && !Units.hasUnit(quantity);
      if (meaning.foreign() && unknown) {
        findings.doubt("The unit of the value is not given as a UCUM code.", VALUE + ".code");
        return true;
      }
      return false;
    }

    /** Who measured; blank when it does not say. */
    private String rater() {
      Reference rater = observation.getPerformerFirstRep();
      return rater.hasReference()
          ? rater.getReference()
          : Objects.requireNonNullElse(rater.getDisplay(), "");
    }

    private String method() {
      for (Coding coding : observation.getMethod().getCoding()) {
        if (Codes.REPORT_ITEM.equals(coding.getSystem())) {
          if (coding.hasCode() && METHODS.contains(coding.getCode())) {
            return coding.getCode();
          }
          findings.refuse(
              Problem.Kind.UNSUPPORTED,
              "There is no method '" + coding.getCode() + "'.",
              "Observation.method");
        }
      }
      return "";
    }

    /** A pain score, in the value or by what it was felt at in components. */
    private List<Fact> pain(PanelReader.Answers said, TimeReader.When when) {
      List<Fact> facts = new ArrayList<>();
      said.amount("pain-at-rest")
          .map(pain -> new Fact.Measured(when.start(), source, "pain-at-rest", pain, "", rater()))
          .ifPresent(facts::add);
      Optional<Amount> during = said.amount("pain-during");
      if (during.isPresent() && observation.hasValue()) {
        findings.refuse(
            Problem.Kind.BUSINESS_RULE,
            "A pain score is given as the value or in components, not both.",
            VALUE);
      }
      if (isWithoutUnit(observation.getValue())) {
        return facts;
      }
      Optional<Amount> pain = during.or(() -> answers.amount(PAIN, observation.getValue(), VALUE));
      if (pain.isPresent() && !when.timeKnown()) {
        findings.doubt(
            "It does not say at what time of day: during, after and morning cannot be told apart.",
            EFFECTIVE);
      }
      pain.map(score -> new Fact.PainScored(when.start(), source, score(score)))
          .ifPresent(facts::add);
      return facts;
    }

    private Optional<Fact> duration(TimeReader.When when) {
      if (isWithoutUnit(observation.getValue())) {
        return Optional.empty();
      }
      return answers
          .amount(TIME, observation.getValue(), VALUE)
          .map(
              time ->
                  new Fact.SessionDone(
                      when.start(),
                      source,
                      new Session(
                          when.start(),
                          when.end(),
                          Optional.empty(),
                          Optional.empty(),
                          Optional.empty(),
                          Optional.empty(),
                          Optional.of(whole(time)),
                          Optional.empty(),
                          Optional.empty(),
                          Optional.empty(),
                          Optional.empty(),
                          Optional.empty())));
    }

    /** To the nearest whole number, half rounded up; minutes and seconds are not known better. */
    private int whole(Amount amount) {
      return amount.value().setScale(0, RoundingMode.HALF_UP).intValueExact();
    }

    private PainScore score(Amount amount) {
      return new PainScore(amount.value());
    }
  }
}

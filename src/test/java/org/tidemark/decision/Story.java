package org.tidemark.decision;

import static org.junit.jupiter.api.Assertions.assertEquals;

import java.math.BigDecimal;
import java.time.LocalDate;
import java.time.LocalTime;
import java.time.OffsetDateTime;
import java.time.ZoneOffset;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.Set;
import java.util.TreeMap;
import java.util.function.Predicate;
import org.tidemark.programme.Dose;
import org.tidemark.programme.Equipment;
import org.tidemark.programme.Precaution;
import org.tidemark.programme.Prescription;
import org.tidemark.programme.Programme;
import org.tidemark.programme.Side;
import org.tidemark.programme.TestProgrammes;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Grade;
import org.tidemark.quantity.PainScore;
import org.tidemark.quantity.Unit;
import org.tidemark.quantity.Value;
import org.tidemark.quantity.YesNo;
import org.tidemark.response.Morning;
import org.tidemark.response.ResponsePolicy;
import org.tidemark.response.Session;

/**
 * A plan told day by day. A session is done at 18:00, its morning is answered at 7:00 on the next
 * day, and everything else happens at noon of the day the story has reached. Times are the person's
 * own, one hour ahead of UTC. Every fact is folded as it comes; all of them can be replayed.
 */
final class Story {
  static final LocalDate FIRST_DAY = LocalDate.of(2026, 1, 5);
  private static final ZoneOffset OFFSET = ZoneOffset.ofHours(1);

  final Programme programme;
  final List<Fact> facts = new ArrayList<>();
  final List<Decision> decisions = new ArrayList<>();
  final Map<String, Value> items = new TreeMap<>();
  final Map<String, List<Value>> kit = new TreeMap<>();
  PlanState state = PlanState.EMPTY;
  LocalDate today = FIRST_DAY;
  private int minutes;
  private ResponsePolicy policy = ResponsePolicy.SYMPTOM_FREE;
  private ChangeControl control = ChangeControl.WITHIN_STAGE;

  private Story(Programme programme) {
    this.programme = programme;
  }

  static Story of(Programme programme) {
    return new Story(programme);
  }

  /**
   * A knee that bends to 120° with a gap of 8 cm and no pain at rest, of someone who kneels and
   * stands on one leg, 175 cm tall, of 80 kg; at home two rolls of 4 cm, a staircase of 17 cm
   * risers, a book, a rail, dumbbells.
   */
  static Story knee() {
    return of(TestProgrammes.KNEE)
        .knows("comfortable-flexion", "120 deg")
        .knows("gap", "8 cm")
        .knows("pain-at-rest", "0 {score}")
        .knows("can-kneel", "yes")
        .knows("can-stand-on-one-leg", "yes")
        .knows("body-height", "175 cm")
        .knows("body-weight", "80 kg")
        .owns("towel-roll", "4 cm", "4 cm")
        .owns("stair-riser", "17 cm")
        .owns("stair-count", "13")
        .owns("book", "9 cm")
        .owns("hand-support", "yes")
        .owns("dumbbell-pair", "1 kg", "2 kg");
  }

  /** The same knee, reaching contact without a towel: it starts with body weight. */
  static Story bendingKnee() {
    return knee().knows("gap", "0 cm").knows("contact", "yes");
  }

  /**
   * A quiet calf of someone of 80 kg who stands on one leg; at home a book, a rail and dumbbells.
   */
  static Story heel() {
    return of(TestProgrammes.HEEL)
        .knows("pain-at-rest", "0 {score}")
        .knows("can-stand-on-one-leg", "yes")
        .knows("body-weight", "80 kg")
        .owns("book", "5 cm", "5 cm")
        .owns("hand-support", "yes")
        .owns("dumbbell-pair", "2 kg", "5 kg");
  }

  /** A heel raise that has just met and held every goal. */
  static Story complete() {
    return heel()
        .owns("dumbbell-pair", "2 kg", "4 kg", "6 kg", "8 kg", "10 kg")
        .begins()
        .quietUntil(story -> story.accepting().hasSaid(Reason.GOALS_HELD));
  }

  /** What is proposed, if anything is, is accepted. */
  Story accepting() {
    return state.control().awaiting().isPresent() ? accepted() : this;
  }

  /** A value as one writes it: {@code yes}, {@code no}, {@code 17.5 cm}, or a grade. */
  static Value value(String text) {
    if (text.equals("yes") || text.equals("no")) {
      return text.equals("yes") ? YesNo.YES : YesNo.NO;
    }
    if (!Character.isDigit(text.charAt(0))) {
      return new Grade(text);
    }
    String[] parts = text.split(" ");
    Unit unit = parts.length == 1 ? Unit.COUNT : Unit.find(parts[1]).orElseThrow();
    return Amount.of(parts[0], unit);
  }

  Story knows(String item, String value) {
    items.put(item, value(value));
    return this;
  }

  Story doesNotKnow(String item) {
    items.remove(item);
    return this;
  }

  Story owns(String item, String... pieces) {
    kit.put(item, Arrays.stream(pieces).map(Story::value).toList());
    return this;
  }

  Story doesNotOwn(String item) {
    kit.remove(item);
    return this;
  }

  Story under(ResponsePolicy other) {
    policy = other;
    return this;
  }

  Story under(ChangeControl other) {
    control = other;
    return this;
  }

  /** The plan begins: baseline, equipment, enrolment. */
  Story begins() {
    baseline();
    equipment();
    return tell(new Fact.Enrolled(noon(), source(), Side.RIGHT, policy, control));
  }

  Story baseline() {
    return tell(new Fact.BaselineTaken(noon(), source(), items, "goniometer", ""));
  }

  Story equipment() {
    return tell(new Fact.EquipmentListed(noon(), source(), new Equipment(kit)));
  }

  /** Days on which everything is quiet: no pain, contact reached, the morning answered. */
  Story quiet(int days) {
    for (int i = 0; i < days; i++) {
      day("0 0 0");
    }
    return this;
  }

  /** Quiet days at the three times a week that are asked for. */
  Story quietEveryOtherDay(int sessions) {
    for (int i = 0; i < sessions; i++) {
      day("0 0 0").passes(1);
    }
    return this;
  }

  /** Quiet days until something holds, 200 at the most. */
  Story quietUntil(Predicate<Story> reached) {
    for (int i = 0; i < 200; i++) {
      if (reached.test(this)) {
        return this;
      }
      day("0 0 0");
    }
    throw new AssertionError("not reached after 200 quiet days: " + state.inForce());
  }

  /** Quiet days until a variable of an exercise is set to a value; what is proposed is accepted. */
  Story quietUntil(String variation, String variable, String value) {
    return quietUntil(story -> story.accepting().asked(variation, variable).equals(value));
  }

  /**
   * One day: pain during, pain after, pain the next morning; a dash for what is not answered. Words
   * may follow: {@code unwilling}, {@code swollen}, {@code no-contact}, {@code contact-unknown}.
   */
  Story day(String told) {
    List<String> words = List.of(told.trim().split("\\s+"));
    session(words);
    today = today.plusDays(1);
    boolean swollen = words.contains("swollen");
    boolean unwilling = words.contains("unwilling");
    if (!words.get(2).equals("-") || swollen || unwilling) {
      morning(words.get(2), swollen, unwilling);
    }
    return this;
  }

  /** Several days, a line each; see {@link #day}. */
  Story days(String table) {
    table.lines().map(String::trim).filter(line -> !line.isEmpty()).forEach(this::day);
    return this;
  }

  /** Days pass without a session or a report. */
  Story passes(int days) {
    today = today.plusDays(days);
    return this;
  }

  /** A session whose morning is not told yet: pain during and after. */
  Story session(String told) {
    return session(List.of(told.trim().split("\\s+")));
  }

  private Story session(List<String> words) {
    boolean unknown = words.contains("contact-unknown");
    Optional<Boolean> contact =
        unknown ? Optional.empty() : Optional.of(!words.contains("no-contact"));
    return sessionDone(Optional.empty(), contact, pain(words.get(0)), pain(words.get(1)));
  }

  /** A quiet session at other settings of an exercise in force. */
  Story sessionAt(String variation, String variable, String value) {
    Prescription asked = prescription(variation);
    Prescription done =
        new Prescription(
            asked.stage(), variation, asked.setting().with(variable, value(value)), asked.dose());
    return sessionDone(Optional.of(done), Optional.of(true), pain("0"), pain("0"));
  }

  /**
   * A quiet session with the amounts it reports: sets, repetitions in a set, seconds of a set; a
   * dash for what is not reported.
   */
  Story sessionOf(String sets, String repetitions, String seconds) {
    return tell(
        done(
            Optional.empty(),
            new Amounts(number(sets), number(repetitions), number(seconds)),
            Optional.of(true),
            pain("0"),
            pain("0")));
  }

  private record Amounts(
      Optional<Integer> sets, Optional<Integer> repetitions, Optional<Integer> seconds) {
    static final Amounts NONE = new Amounts(Optional.empty(), Optional.empty(), Optional.empty());
  }

  private static Optional<Integer> number(String text) {
    return text.equals("-") ? Optional.empty() : Optional.of(Integer.valueOf(text));
  }

  Story sessionDone(
      Optional<Prescription> done,
      Optional<Boolean> contact,
      Optional<PainScore> during,
      Optional<PainScore> after) {
    return tell(done(done, Amounts.NONE, contact, during, after));
  }

  private Fact done(
      Optional<Prescription> done,
      Amounts amounts,
      Optional<Boolean> contact,
      Optional<PainScore> during,
      Optional<PainScore> after) {
    OffsetDateTime start = at(LocalTime.of(18, 0));
    Session session =
        new Session(
            start,
            start.plusMinutes(20),
            done,
            Optional.empty(),
            amounts.sets(),
            amounts.repetitions(),
            amounts.seconds(),
            contact,
            during,
            after,
            Optional.empty(),
            Optional.empty());
    return new Fact.SessionDone(start, source(), session);
  }

  /** This day's morning, pain alone. */
  Story morning(String pain) {
    return morning(pain, false, false);
  }

  Story morning(String pain, boolean swollen, boolean unwilling) {
    OffsetDateTime at = at(LocalTime.of(7, 0));
    return tell(
        new Fact.MorningAfter(
            at,
            source(),
            new Morning(
                at,
                pain(pain),
                Optional.empty(),
                swollen ? Optional.of(true) : Optional.empty(),
                unwilling ? Optional.of(false) : Optional.empty(),
                Optional.empty())));
  }

  /** A pain score that does not say when it was felt. */
  Story painAt(String time, int score) {
    return tell(new Fact.PainScored(at(LocalTime.parse(time)), source(), PainScore.of(score)));
  }

  Story measured(String item, String amount) {
    return tell(
        new Fact.Measured(noon(), source(), item, (Amount) value(amount), "goniometer", ""));
  }

  /** The clinician sets what a goal is to reach; {@code -} leaves it to the programme. */
  Story aims(String goal, String target) {
    Optional<Value> value = target.equals("-") ? Optional.empty() : Optional.of(value(target));
    return tell(new Fact.TargetSet(noon(), source(), goal, value));
  }

  Story warning(Warning... signs) {
    return tell(new Fact.WarningRaised(noon(), source(), Set.of(signs)));
  }

  Story resumed() {
    return tell(new Fact.Resumed(noon(), source()));
  }

  Story held(boolean on) {
    return tell(new Fact.Held(noon(), source(), on));
  }

  /** The clinician accepts what is proposed. */
  Story accepted() {
    return tell(new Fact.SignedOff(noon(), source(), true, decision().proposal()));
  }

  /** The clinician refuses what is proposed. */
  Story refused() {
    return tell(new Fact.SignedOff(noon(), source(), false, decision().proposal()));
  }

  /** The clinician sets one variable of an exercise in force by hand. */
  Story setByHand(String variation, String variable, String value) {
    Prescription now = prescription(variation);
    return tell(
        new Fact.Overridden(
            noon(),
            source(),
            new Prescription(
                now.stage(), variation, now.setting().with(variable, value(value)), now.dose())));
  }

  /** The clinician sets the dose of an exercise in force by hand. */
  Story setByHand(String variation, Dose dose) {
    Prescription now = prescription(variation);
    return tell(
        new Fact.Overridden(
            noon(), source(), new Prescription(now.stage(), variation, now.setting(), dose)));
  }

  Story limited(Precaution precaution) {
    return tell(new Fact.PrecautionSet(noon(), source(), precaution));
  }

  /** A limit on a measure from today on. */
  Story limited(Precaution.Scope scope, String measure, String least, String most) {
    return limited(limit(scope, measure, least, most));
  }

  Precaution limit(Precaution.Scope scope, String measure, String least, String most) {
    return new Precaution(
        "limit on " + measure,
        scope,
        measure.isEmpty() ? Optional.empty() : Optional.of(measure),
        least.isEmpty() ? Optional.empty() : Optional.of((Amount) value(least)),
        most.isEmpty() ? Optional.empty() : Optional.of((Amount) value(most)),
        today,
        Optional.empty(),
        false,
        false);
  }

  Story tell(Fact fact) {
    facts.add(fact);
    state = Review.advance(programme, state, fact);
    state.last().ifPresent(decisions::add);
    return this;
  }

  Decision decision() {
    return state.last().orElseThrow();
  }

  Verdict verdict() {
    return decision().verdict();
  }

  List<Reason> reasons() {
    return decision().reasons();
  }

  boolean says(Reason reason) {
    return reasons().contains(reason);
  }

  /** Whether any decision so far gave this reason. */
  boolean hasSaid(Reason reason) {
    return decisions.stream().anyMatch(decision -> decision.reasons().contains(reason));
  }

  Prescription prescription(String variation) {
    return state.inForce().stream()
        .filter(p -> p.variation().equals(variation))
        .findFirst()
        .orElseThrow(() -> new AssertionError(variation + " is not in " + state.inForce()));
  }

  /** What a variable is set to, as text; {@code none} when the exercise is not in force. */
  String asked(String variation, String variable) {
    return state.inForce().stream()
        .filter(p -> p.variation().equals(variation))
        .map(p -> Change.text(p.setting().get(variable)))
        .findFirst()
        .orElse("none");
  }

  /** The dose in force, as text such as {@code 2 × 10}. */
  String dose(String variation) {
    return Choosing.describe(prescription(variation).dose());
  }

  Story expect(Verdict verdict, Reason... reasons) {
    assertEquals(verdict, verdict(), () -> decision().toString());
    assertEquals(List.of(reasons), reasons(), () -> decision().toString());
    return this;
  }

  Story expectAsked(String variation, String variable, String value) {
    assertEquals(value, asked(variation, variable), () -> decision().toString());
    return this;
  }

  OffsetDateTime noon() {
    return at(LocalTime.of(12, 0)).plusSeconds(minutes++ % 3000);
  }

  OffsetDateTime at(LocalTime time) {
    return today.atTime(time).atOffset(OFFSET);
  }

  FactSource source() {
    return new FactSource("Observation", "n" + (facts.size() + 1), 1);
  }

  private static Optional<PainScore> pain(String text) {
    return text.equals("-") ? Optional.empty() : Optional.of(new PainScore(new BigDecimal(text)));
  }
}

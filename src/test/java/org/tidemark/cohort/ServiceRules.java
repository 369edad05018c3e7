package org.tidemark.cohort;

import java.time.LocalDate;
import java.time.LocalTime;
import java.time.OffsetDateTime;
import java.time.ZoneOffset;
import java.util.ArrayList;
import java.util.HashSet;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.Set;
import java.util.TreeMap;
import java.util.function.UnaryOperator;
import org.tidemark.decision.Change;
import org.tidemark.decision.ChangeControl;
import org.tidemark.decision.Decision;
import org.tidemark.decision.Fact;
import org.tidemark.decision.FactSource;
import org.tidemark.decision.PlanState;
import org.tidemark.decision.Reason;
import org.tidemark.decision.Review;
import org.tidemark.decision.Verdict;
import org.tidemark.programme.Equipment;
import org.tidemark.programme.Prescription;
import org.tidemark.programme.Programme;
import org.tidemark.programme.Side;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.PainScore;
import org.tidemark.quantity.Unit;
import org.tidemark.quantity.Value;
import org.tidemark.response.Morning;
import org.tidemark.response.ResponsePolicy;
import org.tidemark.response.Session;

/**
 * The service's own rules, fed fact by fact. A clinician accepts every proposal and lets every
 * withheld plan go on, each after some days, and where that does not help sets by hand what stood
 * before; a piece of equipment that is named as missing comes for some.
 *
 * @param title a few words for it
 * @param words what it does
 * @param variant what is changed in the programme first
 * @param policy how symptoms are read
 */
record ServiceRules(
    String title, String words, UnaryOperator<Programme> variant, ResponsePolicy policy)
    implements Policy {
  static final ServiceRules USUAL =
      new ServiceRules(
          "the rules",
          "The service's rules with their usual settings: symptom-free, one change at a time, under"
              + " the cap on demand.",
          UnaryOperator.identity(),
          ResponsePolicy.SYMPTOM_FREE);

  @Override
  public Course begin(Programme programme, Person person) {
    return new Plan(variant.apply(programme), person, policy);
  }

  @Override
  public boolean restsUntilQuiet() {
    return false;
  }

  /** One plan. */
  private static final class Plan implements Course {
    private static final LocalDate FIRST_DAY = LocalDate.of(2026, 1, 5);
    private static final FactSource SOURCE = new FactSource("Observation", "1", 1);

    private final Programme programme;
    private final Person person;
    private final Set<String> wished = new HashSet<>();
    private final Map<Integer, List<Change.Piece>> coming = new TreeMap<>();
    private final Map<String, Value> items;
    private PlanState state = PlanState.EMPTY;
    private Equipment home;
    private List<Prescription> proposal = List.of();
    private List<Prescription> stood = List.of();
    private int signsOn = -1;
    private int reviewsOn = -1;
    private int pieces;
    private int steps;

    Plan(Programme programme, Person person, ResponsePolicy policy) {
      this.programme = programme;
      this.person = person;
      this.home = person.home();
      this.items = new TreeMap<>(person.known());
      OffsetDateTime at = at(0, 12);
      tell(new Fact.BaselineTaken(at, SOURCE, items, "goniometer", ""));
      tell(new Fact.EquipmentListed(at, SOURCE, home));
      tell(new Fact.Enrolled(at, SOURCE, Side.RIGHT, policy, ChangeControl.WITHIN_STAGE));
    }

    @Override
    public List<Prescription> asked() {
      return state.inForce();
    }

    @Override
    public void morning(int day, Optional<Woken> answer) {
      if (answer.isEmpty()) {
        return;
      }
      OffsetDateTime at = at(day, 7);
      Woken woken = answer.get();
      tell(
          new Fact.MorningAfter(
              at,
              SOURCE,
              new Morning(
                  at,
                  Optional.of(PainScore.of(woken.pain())),
                  Optional.empty(),
                  Optional.of(woken.swollen()),
                  Optional.of(!woken.unwilling()),
                  Optional.empty())));
    }

    @Override
    public void session(Felt felt) {
      OffsetDateTime at = at(felt.day(), 18);
      Session session =
          new Session(
              at,
              at.plusMinutes(20),
              Optional.empty(),
              Optional.empty(),
              Optional.empty(),
              Optional.empty(),
              Optional.empty(),
              Optional.of(felt.contact()),
              Optional.of(PainScore.of(felt.during())),
              Optional.of(PainScore.of(felt.after())),
              Optional.empty(),
              Optional.empty());
      tell(new Fact.SessionDone(at, new FactSource("Observation", "s" + felt.day(), 1), session));
    }

    @Override
    public void measured(int day, double degrees, double gapCentimetres) {
      String method = person.habits().method().code();
      Amount flexion = People.amount(degrees, 0, Unit.DEGREE);
      Amount gap = People.amount(gapCentimetres, 1, Unit.CENTIMETRE);
      items.put("comfortable-flexion", flexion);
      items.put("gap", gap);
      tell(new Fact.Measured(at(day, 13), SOURCE, "comfortable-flexion", flexion, method, ""));
      tell(new Fact.Measured(at(day, 13), SOURCE, "gap", gap, "", ""));
    }

    @Override
    public void noon(int day) {
      post(day);
      signOff(day);
      review(day);
    }

    private void post(int day) {
      List<Change.Piece> come = coming.remove(day);
      if (come != null) {
        Map<String, List<Value>> all = new TreeMap<>(home.items());
        for (Change.Piece piece : come) {
          List<Value> owned = new ArrayList<>(all.getOrDefault(piece.item(), List.of()));
          owned.add(piece.size());
          all.put(piece.item(), owned);
        }
        pieces += come.size();
        home = new Equipment(all);
        tell(new Fact.EquipmentListed(at(day, 12), SOURCE, home));
      }
    }

    private void signOff(int day) {
      if (state.control().awaiting().isEmpty()) {
        signsOn = -1;
        return;
      }
      if (signsOn < 0) {
        signsOn = day + (int) Assumption.SIGN_OFF_TAKES.draw(person.stream(-1_000 - day));
      }
      if (day >= signsOn) {
        signsOn = -1;
        tell(new Fact.SignedOff(at(day, 12), SOURCE, true, proposal));
      }
    }

    private void review(int day) {
      if (!withheld()) {
        reviewsOn = -1;
        return;
      }
      if (reviewsOn < 0) {
        reviewsOn = day + (int) Assumption.REVIEW_TAKES.draw(person.stream(-100_000 - day));
      }
      if (day >= reviewsOn) {
        reviewsOn = -1;
        if (state.control().reassess()) {
          tell(new Fact.BaselineTaken(at(day, 12), SOURCE, items, "goniometer", ""));
        } else {
          tell(new Fact.Resumed(at(day, 12), SOURCE));
        }
        if (withheld() && !stood.isEmpty()) {
          tell(new Fact.Overridden(at(day, 12), SOURCE, stood.get(0)));
        }
      }
    }

    private boolean withheld() {
      return state.last().filter(last -> last.verdict() == Verdict.WITHHOLD).isPresent();
    }

    private void tell(Fact fact) {
      state = Review.advance(programme, state, fact);
      Optional<Decision> last = state.last();
      if (last.isEmpty()) {
        return;
      }
      if (!last.get().inForce().isEmpty()) {
        stood = last.get().inForce();
      }
      if (last.get().verdict() == Verdict.PROGRESS && !last.get().proposed()) {
        steps++;
      }
      if (last.get().proposed()) {
        proposal = last.get().proposal();
      }
      for (Change.Considered considered : last.get().considered()) {
        considered.missing().ifPresent(piece -> wish(fact.at(), piece));
      }
    }

    private void wish(OffsetDateTime at, Change.Piece piece) {
      if (wished.size() >= Assumption.MOST_PIECES.value()
          || !wished.add(piece.item() + piece.size())) {
        return;
      }
      var chance = person.stream(-1_000_000 - (piece.item() + piece.size()).hashCode());
      if (Assumption.GETS_PIECE.comesUp(chance)) {
        int day = (int) (at.toLocalDate().toEpochDay() - FIRST_DAY.toEpochDay());
        coming
            .computeIfAbsent(
                day + (int) Assumption.PIECE_TAKES.draw(chance), d -> new ArrayList<>())
            .add(piece);
      }
    }

    @Override
    public int stepsTaken() {
      return steps;
    }

    @Override
    public int piecesGot() {
      return pieces;
    }

    @Override
    public Optional<HeldUp> heldUp() {
      return state.last().map(this::heldUp);
    }

    private HeldUp heldUp(Decision last) {
      List<Reason> reasons = last.reasons();
      if (last.verdict() == Verdict.WITHHOLD || last.verdict() == Verdict.INCOMPLETE) {
        return HeldUp.WITHHELD;
      }
      if (last.verdict() == Verdict.REGRESS) {
        return HeldUp.EASED;
      }
      if (state.control().awaiting().isPresent()) {
        return HeldUp.SIGN_OFF;
      }
      if (reasons.contains(Reason.ONE_STIRRED) || reasons.contains(Reason.UNQUIET_MORNING)) {
        return HeldUp.STIRRED;
      }
      if (reasons.contains(Reason.EVIDENCE_THIN)) {
        return thin();
      }
      if (reasons.contains(Reason.ADHERENCE_LOW)) {
        return HeldUp.ADHERENCE;
      }
      if (reasons.contains(Reason.CONTACT_NOT_REACHED)) {
        return HeldUp.CONTACT;
      }
      if (reasons.contains(Reason.MORNING_PENDING)) {
        return HeldUp.MORNING;
      }
      if (reasons.contains(Reason.BACK_OFF)) {
        return HeldUp.BACK_OFF;
      }
      if (reasons.contains(Reason.NO_FEASIBLE_CHANGE) || reasons.contains(Reason.STEP_TOO_BIG)) {
        return HeldUp.EQUIPMENT;
      }
      if (reasons.contains(Reason.REQUIREMENT_NOT_MET)) {
        return HeldUp.REQUIREMENT;
      }
      return last.verdict() == Verdict.PROGRESS || last.verdict() == Verdict.PLACE
          ? thin()
          : HeldUp.OTHER;
    }

    private HeldUp thin() {
      Optional<Decision> because = state.because();
      if (because.filter(b -> b.verdict() == Verdict.REGRESS).isPresent()) {
        return HeldUp.EVIDENCE_AFTER_EASING;
      }
      boolean dose =
          because
              .flatMap(Decision::change)
              .filter(change -> change.kind() == Change.Kind.DOSE)
              .isPresent();
      return dose ? HeldUp.DOSE : HeldUp.EVIDENCE;
    }

    private static OffsetDateTime at(int day, int hour) {
      return FIRST_DAY.plusDays(day).atTime(LocalTime.of(hour, 0)).atOffset(ZoneOffset.UTC);
    }
  }
}

package org.tidemark.cohort;

import java.util.ArrayList;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.TreeMap;
import org.tidemark.decision.StageStart;
import org.tidemark.programme.Condition;
import org.tidemark.programme.Dose;
import org.tidemark.programme.Equipment;
import org.tidemark.programme.Exercise;
import org.tidemark.programme.Prescription;
import org.tidemark.programme.Programme;
import org.tidemark.programme.ProgressionVariable;
import org.tidemark.programme.Stage;
import org.tidemark.programme.Variation;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Unit;
import org.tidemark.quantity.Value;

/**
 * The way of a plain policy through the programme: the base dose, then the smallest step that the
 * equipment makes, in the programme's own order of variables and stages. What goes along with the
 * lead exercise follows it where the two share a variable. Nothing looks at contact or demand.
 */
final class PlainSteps {
  private final Programme programme;
  private final Equipment home;
  private final Map<String, Value> items;
  private final List<List<Prescription>> path = new ArrayList<>();
  private List<Prescription> now;
  private int taken;

  PlainSteps(Programme programme, Person person) {
    this.programme = programme;
    this.home = person.home();
    this.items = new TreeMap<>(person.known());
    this.now = ServiceRules.USUAL.begin(programme, person).asked();
  }

  List<Prescription> now() {
    return now;
  }

  int taken() {
    return taken;
  }

  void measured(double degrees, double gapCentimetres) {
    items.put("comfortable-flexion", People.amount(degrees, 0, Unit.DEGREE));
    items.put("gap", People.amount(gapCentimetres, 1, Unit.CENTIMETRE));
  }

  /** The next step, if there is one. */
  void on() {
    next()
        .ifPresent(
            harder -> {
              path.add(now);
              now = harder;
              taken++;
            });
  }

  /** Back to what was done before the last step; at the start nothing happens. */
  void back() {
    if (!path.isEmpty()) {
      now = path.remove(path.size() - 1);
    }
  }

  private Optional<List<Prescription>> next() {
    Prescription lead = now.get(0);
    Exercise exercise = programme.exercise(lead.stage(), lead.variation()).orElseThrow();
    Variation variation = exercise.variation();
    if (variation.ladder().isBelowBase(lead.dose())) {
      Dose more = variation.ladder().up(lead.dose()).orElseThrow();
      return Optional.of(
          with(new Prescription(lead.stage(), lead.variation(), lead.setting(), more)));
    }
    for (ProgressionVariable variable : exercise.progressing()) {
      Value value = lead.setting().get(variable.code());
      if (value == null || variable.reachesGoal(value) || !hold(variable.requires())) {
        continue;
      }
      Optional<Value> harder =
          variable.fromEasiest(home).stream()
              .filter(other -> variable.compare(other, value) > 0)
              .filter(other -> within(variable, other))
              .findFirst();
      if (harder.isPresent()) {
        return Optional.of(
            with(
                new Prescription(
                    lead.stage(),
                    lead.variation(),
                    lead.setting().with(variable.code(), harder.get()),
                    lead.dose())));
      }
    }
    return programme
        .stageAfter(lead.stage())
        .filter(stage -> hold(stage.conditions()))
        .flatMap(this::begun);
  }

  private Optional<List<Prescription>> begun(Stage stage) {
    return StageStart.begin(programme, stage, items, home, now);
  }

  private static boolean within(ProgressionVariable variable, Value value) {
    return variable
        .goal()
        .map(Amount.class::cast)
        .map(goal -> variable.compare(value, goal) <= 0)
        .orElse(true);
  }

  private boolean hold(List<Condition> conditions) {
    return conditions.stream().allMatch(condition -> condition.holds(items, home));
  }

  /** With another lead; companions take over the values of the variables that they share. */
  private List<Prescription> with(Prescription lead) {
    List<Prescription> all = new ArrayList<>(List.of(lead));
    for (Prescription other : now.subList(1, now.size())) {
      var setting = other.setting();
      for (Map.Entry<String, Value> value : lead.setting().values().entrySet()) {
        if (setting.get(value.getKey()) != null) {
          setting = setting.with(value.getKey(), value.getValue());
        }
      }
      all.add(new Prescription(other.stage(), other.variation(), setting, other.dose()));
    }
    return all;
  }
}

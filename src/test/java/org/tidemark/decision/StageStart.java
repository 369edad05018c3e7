package org.tidemark.decision;

import java.time.OffsetDateTime;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import org.tidemark.programme.Equipment;
import org.tidemark.programme.Prescription;
import org.tidemark.programme.Programme;
import org.tidemark.programme.Stage;
import org.tidemark.quantity.Value;

/** Lets other tests begin a stage as the service does. */
public final class StageStart {
  private StageStart() {}

  /**
   * What a stage begins with for a person, whose stage conditions have been looked at already.
   *
   * @param items what is known of the person
   * @param before what was done before, for settings that are kept
   * @return empty when it cannot begin with this equipment
   */
  public static Optional<List<Prescription>> begin(
      Programme programme,
      Stage stage,
      Map<String, Value> items,
      Equipment equipment,
      List<Prescription> before) {
    OffsetDateTime at = OffsetDateTime.MIN;
    FactSource source = new FactSource("Observation", "1", 1);
    PlanState.Person person =
        PlanState.Person.UNKNOWN
            .baseline(new Fact.BaselineTaken(at, source, items, "", ""), programme.needs())
            .owning(new Fact.EquipmentListed(at, source, equipment));
    Surroundings around = new Surroundings(programme, person, at);
    List<Line> lines =
        before.stream().map(p -> Line.begin(p, around.exercise(p).role(), at)).toList();
    return around.begin(stage, lines).map(begun -> begun.stream().map(Line::prescription).toList());
  }
}

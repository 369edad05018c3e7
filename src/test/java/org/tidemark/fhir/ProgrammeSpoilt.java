package org.tidemark.fhir;

import static org.junit.jupiter.api.Assertions.assertThrows;

import java.util.HashMap;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.function.Consumer;
import org.hl7.fhir.r4.model.ActivityDefinition;
import org.hl7.fhir.r4.model.Extension;
import org.hl7.fhir.r4.model.PlanDefinition;
import org.hl7.fhir.r4.model.Quantity;
import org.junit.jupiter.params.provider.Arguments;

/** The knee programme and its variations, to be spoilt. */
record ProgrammeSpoilt(PlanDefinition plan, Map<String, ActivityDefinition> activities) {
  static final String SQUAT = Codes.BASE + "/ActivityDefinition/split-squat-rock|1.0.0";
  static final String SQUAT_AT = "PlanDefinition.action[2].action[0].definitionCanonical > ";
  private static final PlanDefinition PLAN = ProfileFiles.plan("knee-deep-flexion");
  private static final List<ActivityDefinition> ACTIVITIES =
      ProfileFiles.all(ActivityDefinition.class);

  static ProgrammeSpoilt fresh() {
    Map<String, ActivityDefinition> activities = new HashMap<>();
    ACTIVITIES.forEach(a -> activities.put(a.getUrl() + "|" + a.getVersion(), a.copy()));
    return new ProgrammeSpoilt(PLAN.copy(), activities);
  }

  ActivityDefinition squat() {
    return activities.get(SQUAT);
  }

  PlanDefinition.PlanDefinitionActionComponent stage(int index) {
    return plan.getAction().get(index);
  }

  PlanDefinition.PlanDefinitionActionComponent exercise(int stage, int index) {
    return stage(stage).getAction().get(index);
  }

  List<String> faults() {
    Problem problem =
        assertThrows(
            Problem.class,
            () -> ProgrammeReader.read(plan, url -> Optional.ofNullable(activities.get(url))));
    return problem.issues().stream()
        .map(p -> p.kind() + " " + String.join(" > ", p.expressions()))
        .toList();
  }

  static Arguments fault(String name, Consumer<ProgrammeSpoilt> spoil, String... expected) {
    return Arguments.of(name, spoil, List.of(expected));
  }

  static Extension at(List<Extension> extensions, int first, int... deeper) {
    Extension found = extensions.get(first);
    for (int index : deeper) {
      found = found.getExtension().get(index);
    }
    return found;
  }

  static Quantity quantity(long value, String unit) {
    return new Quantity(null, value, Codes.UCUM, unit, unit);
  }
}

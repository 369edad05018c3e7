package org.tidemark.decision;

import java.util.LinkedHashSet;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.Set;
import org.tidemark.programme.Placement;
import org.tidemark.programme.Stage;
import org.tidemark.quantity.Value;
import org.tidemark.quantity.YesNo;

/**
 * Finds where a person starts: the first way in whose conditions hold and that the precautions
 * allow.
 */
final class Placing {

  /**
   * Where a person starts.
   *
   * @param lines the first exercises; empty when there are none
   * @param reason why
   * @param missing the baseline items without which nothing is guessed
   * @param precautions the words of the precautions that closed a way in
   */
  record Place(List<Line> lines, Reason reason, List<String> missing, List<String> precautions) {}

  private Placing() {}

  static Place place(Surroundings around) {
    List<String> missing =
        around.programme().needs().stream()
            .filter(group -> !answered(group, around.person().items()))
            .map(group -> String.join("|", group))
            .toList();
    if (!missing.isEmpty()) {
      return new Place(List.of(), Reason.BASELINE_INCOMPLETE, missing, List.of());
    }
    Set<String> closedBy = new LinkedHashSet<>();
    for (Placement way : around.programme().placements()) {
      if (!around.hold(way.conditions())) {
        continue;
      }
      if (way.stage().isEmpty()) {
        break;
      }
      Optional<Stage> stage = around.programme().stage(way.stage().get());
      Optional<List<Line>> lines = stage.flatMap(s -> around.begin(s, List.of()));
      if (lines.isEmpty()) {
        continue;
      }
      List<Line> allowed = allowed(around, lines.get(), closedBy);
      if (!allowed.isEmpty()) {
        return new Place(allowed, Reason.PLACED, List.of(), List.copyOf(closedBy));
      }
    }
    Reason reason = closedBy.isEmpty() ? Reason.NO_SAFE_START : Reason.PRECAUTION_FORBIDS_ALL;
    return new Place(List.of(), reason, List.of(), List.copyOf(closedBy));
  }

  /** Among alternatives a no leaves the question open: no contact does not say how large a gap. */
  private static boolean answered(List<String> group, Map<String, Value> items) {
    return group.stream()
        .anyMatch(
            item ->
                items.containsKey(item)
                    && (group.size() == 1 || !YesNo.NO.equals(items.get(item))));
  }

  /** What the precautions leave of a start, each exercise at its nearest easier allowed setting. */
  private static List<Line> allowed(Surroundings around, List<Line> lines, Set<String> closedBy) {
    around.forbidding(lines).forEach(precaution -> closedBy.add(precaution.text()));
    return Easing.inside(around, lines).orElse(List.of());
  }
}

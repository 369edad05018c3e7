package org.tidemark.fhir;

import java.util.Arrays;
import java.util.Collection;
import java.util.List;
import java.util.stream.Collectors;
import org.tidemark.decision.Decision;
import org.tidemark.decision.Warning;
import org.tidemark.decision.Warning.Urgency;

/** What stops an exercise, and the cautions that go with every plan. */
final class SafetyText {
  /** The top of what every response policy still accepts during and after a session. */
  static final int ACCEPTED_PAIN = 5;

  /** The usual cautions. */
  static final List<String> CAUTIONS =
      List.of(
          "Limits set by a surgeon or another clinician come first: follow them.",
          "Local codes and licensed practice come first.",
          "Not for use without a clinician, who answers for the plan.");

  private SafetyText() {}

  /** The rule for a single session. */
  static String sessionRule() {
    return "Stop for the day when it hurts more than at rest, unless your clinician has said how much"
        + " pain is acceptable; above "
        + ACCEPTED_PAIN
        + " out of 10 always stop. Report the pain during, after and the next morning.";
  }

  /** The signs that stop all exercise, by what to do about them, the most pressing first. */
  static List<Prose.Named> signs() {
    return Arrays.stream(Urgency.values())
        .map(urgency -> new Prose.Named(urgency.sentence(), List.of(sentences(ofUrgency(urgency)))))
        .toList();
  }

  /** What the most pressing of the open warnings asks for. */
  static Urgency mostPressing(Decision decision) {
    return decision.warnings().stream()
        .map(Warning::urgency)
        .min(Urgency::compareTo)
        .orElseThrow(() -> new IllegalArgumentException("the decision has no open warning"));
  }

  /** The signs, each in its sentence. */
  static String sentences(Collection<Warning> warnings) {
    return warnings.stream().map(Warning::sentence).collect(Collectors.joining(" "));
  }

  private static List<Warning> ofUrgency(Urgency urgency) {
    return Arrays.stream(Warning.values()).filter(sign -> sign.urgency() == urgency).toList();
  }
}

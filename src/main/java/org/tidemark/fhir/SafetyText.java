package org.tidemark.fhir;

import java.util.Arrays;
import java.util.Collection;
import java.util.List;
import java.util.stream.Collectors;
import org.tidemark.decision.Decision;
import org.tidemark.decision.Warning;
import org.tidemark.decision.Warning.Urgency;

/** What stops an exercise, and the cautions that go with every plan. */
public final class SafetyText {
  /** The top of what every response policy still accepts during and after a session. */
  static final int ACCEPTED_PAIN = 5;

  private SafetyText() {}

  /** The usual cautions. */
  public static List<String> cautions(Texts texts) {
    return List.of(
        texts.of("safety.caution.1"), texts.of("safety.caution.2"), texts.of("safety.caution.3"));
  }

  /** The rule for a single session. */
  public static String sessionRule(Texts texts) {
    return texts.of("safety.session", ACCEPTED_PAIN);
  }

  /** Signs that stop all exercise in their sentences, with what to do about them. */
  record Signs(String urgency, String sentences) {}

  /** The signs that stop all exercise, by what to do about them, the most pressing first. */
  static List<Signs> signs(Texts texts) {
    return Arrays.stream(Urgency.values())
        .map(urgency -> new Signs(texts.urgency(urgency), sentences(texts, ofUrgency(urgency))))
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
  static String sentences(Texts texts, Collection<Warning> warnings) {
    return warnings.stream().map(texts::warning).collect(Collectors.joining(" "));
  }

  private static List<Warning> ofUrgency(Urgency urgency) {
    return Arrays.stream(Warning.values()).filter(sign -> sign.urgency() == urgency).toList();
  }
}

package org.tidemark.fhir;

import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import org.hl7.fhir.r4.model.Observation;

/**
 * An Observation that was extracted from a form, with the answers that its parts come from.
 *
 * @param observation without an id, with status {@code final} and without {@code derivedFrom}
 * @param key tells it from the others of the same form, and stays when the form is sent again
 * @param origins the answer behind each part, by the part's FHIRPath; {@code Observation} itself is
 *     always there
 */
public record FormObservation(Observation observation, String key, Map<String, Origin> origins) {

  /**
   * Where in a form a part comes from.
   *
   * @param linkId the item; empty when it is an element of the form itself
   * @param path FHIRPath of the element in the form
   */
  record Origin(Optional<String> linkId, String path) {}

  /** Copies the origins. */
  public FormObservation {
    origins = Map.copyOf(origins);
  }

  /**
   * A problem with the Observation, as whoever filled in the form knows it.
   *
   * @param problem with expressions in the Observation
   * @return the same problem, with expressions in the QuestionnaireResponse; it names the item
   */
  public Problem inForm(Problem problem) {
    return Problem.all(problem.issues().stream().map(this::inForm).toList());
  }

  private Problem inForm(Problem.Issue issue) {
    List<Origin> at = issue.expressions().stream().map(this::origin).toList();
    Optional<String> linkId = at.stream().flatMap(origin -> origin.linkId().stream()).findFirst();
    return Problem.of(
        issue.kind(),
        linkId.map(item -> FormCheck.about(item, issue.text())).orElse(issue.text()),
        at.stream().map(Origin::path).distinct().toArray(String[]::new));
  }

  /** The origin of the longest part that the expression is in. */
  private Origin origin(String expression) {
    String part = expression;
    while (!origins.containsKey(part)) {
      int dot = part.lastIndexOf('.');
      part = dot < 0 ? "Observation" : part.substring(0, dot);
    }
    return origins.get(part);
  }

  /** Collects the parts of one Observation while a form is walked. */
  static final class Draft {
    private final Observation observation;
    private final String key;
    private final Map<String, Origin> origins = new LinkedHashMap<>();

    Draft(Observation observation, String key, Origin origin) {
      this.observation = observation;
      this.key = key;
      origins.put("Observation", origin);
    }

    Observation observation() {
      return observation;
    }

    Draft from(String part, Origin origin) {
      origins.put(part, origin);
      return this;
    }

    boolean saysSomething() {
      return observation.hasValue() || observation.hasComponent();
    }

    FormObservation done() {
      return new FormObservation(observation, key, origins);
    }
  }
}

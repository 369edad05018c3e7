package org.tidemark.fhir;

import java.util.ArrayList;
import java.util.List;

/** Takes down everything that is wrong with a definition, so that all of it can be said at once. */
final class ProgrammeFaults {
  private final List<Problem> found;
  private final String about;
  private final List<String> through;

  ProgrammeFaults() {
    this(new ArrayList<>(), "", List.of());
  }

  private ProgrammeFaults(List<Problem> found, String about, List<String> through) {
    this.found = found;
    this.about = about;
    this.through = through;
  }

  /**
   * The same list, for faults of a definition that this one refers to.
   *
   * @param element the FHIRPath of the element that refers; each fault names it first
   * @param canonical the definition referred to; each text names it
   */
  ProgrammeFaults through(String element, String canonical) {
    return new ProgrammeFaults(found, canonical + ": ", List.of(element));
  }

  void add(Problem.Kind kind, String text, String path) {
    List<String> expressions = new ArrayList<>(through);
    expressions.add(path);
    found.add(Problem.of(kind, about + text, expressions.toArray(String[]::new)));
  }

  int count() {
    return found.size();
  }

  /** Throws all of them as one, if there are any. */
  void throwIfAny() {
    if (!found.isEmpty()) {
      throw Problem.all(found);
    }
  }
}

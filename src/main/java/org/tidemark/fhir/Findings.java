package org.tidemark.fhir;

import java.util.ArrayList;
import java.util.List;
import java.util.Optional;
import java.util.function.Supplier;

/**
 * What is found wrong with one resource while it is read. Reading goes on after a fault, so that
 * the client is told of all of them at once.
 */
final class Findings {
  private final List<Problem> problems = new ArrayList<>();
  private final List<Doubt> doubts = new ArrayList<>();

  /**
   * Why a resource cannot be used.
   *
   * @param reason a sentence for the clinician who looks at it
   * @param path FHIRPath of the element
   */
  record Doubt(String reason, String path) {}

  /** The resource must be refused. */
  void refuse(Problem.Kind kind, String text, String path) {
    problems.add(Problem.of(kind, text, path));
  }

  /** The resource is kept, but cannot be used safely. */
  void doubt(String reason, String path) {
    doubts.add(new Doubt(reason, path));
  }

  /** Reads a part; empty when it has a fault, which is kept. */
  <T> Optional<T> read(Supplier<T> part) {
    try {
      return Optional.of(part.get());
    } catch (Problem problem) {
      problems.add(problem);
      return Optional.empty();
    }
  }

  /** Reads a part that may be absent; empty when it is or has a fault, which is kept. */
  <T> Optional<T> find(Supplier<Optional<T>> part) {
    return read(part).flatMap(found -> found);
  }

  /**
   * Ends the reading when the resource must be refused.
   *
   * @throws Problem with every fault
   */
  void check() {
    if (problems.size() == 1) {
      throw problems.get(0);
    }
    if (!problems.isEmpty()) {
      throw Problem.all(problems);
    }
  }

  /** The first reason why the resource cannot be used, if there is one. */
  Optional<Doubt> doubt() {
    return doubts.stream().findFirst();
  }
}

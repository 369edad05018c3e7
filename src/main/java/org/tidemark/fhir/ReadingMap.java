package org.tidemark.fhir;

import java.util.List;
import java.util.Optional;
import org.hl7.fhir.r4.model.CodeableConcept;
import org.tidemark.programme.Side;

/**
 * Codes of other systems that mean an item of ours, as the programmes in use say.
 *
 * @param entries one for each code
 */
public record ReadingMap(List<Entry> entries) {
  /** No code but our own. */
  public static final ReadingMap NONE = new ReadingMap(List.of());

  /**
   * What one code means.
   *
   * @param item the code of our item, such as {@code comfortable-flexion}
   * @param system the system of the other code
   * @param code the other code
   * @param side the side that the code itself carries, if it does
   */
  public record Entry(String item, String system, String code, Optional<Side> side) {}

  public ReadingMap {
    entries = List.copyOf(entries);
  }

  /** What a code means here, if anything. */
  public Optional<Entry> find(String system, String code) {
    return entries.stream()
        .filter(entry -> entry.system().equals(system) && entry.code().equals(code))
        .findFirst();
  }

  /** What each coding of a concept means here; empty when none does. */
  List<Entry> all(CodeableConcept concept) {
    return concept.getCoding().stream()
        .flatMap(coding -> find(coding.getSystem(), coding.getCode()).stream())
        .toList();
  }
}

package org.tidemark.fhir;

import java.util.Arrays;
import java.util.Collections;
import java.util.EnumSet;
import java.util.Optional;
import java.util.Set;
import java.util.TreeSet;
import org.hl7.fhir.r4.model.CodeableConcept;
import org.hl7.fhir.r4.model.Coding;
import org.tidemark.programme.Side;

/**
 * Which side and which region of the body a record is about, read from SNOMED CT codes. The text of
 * a body site is not read.
 */
public final class Sides {
  private Sides() {}

  /**
   * The side that a body site names, by a qualifier (24028007 right, 7771000 left) or by a region
   * that has a side (6757004 right knee, 82169009 left knee). Empty when it names none, as 36701003
   * (both knees) does.
   *
   * @param path FHIRPath of the body site, for complaints
   * @throws Problem when it names both sides
   */
  public static Optional<Side> of(CodeableConcept bodySite, String path) {
    Set<Side> named = EnumSet.noneOf(Side.class);
    for (Coding coding : bodySite.getCoding()) {
      if (Codes.SNOMED.equals(coding.getSystem()) && coding.hasCode()) {
        switch (coding.getCode()) {
          case Codes.SNOMED_RIGHT, Codes.SNOMED_RIGHT_KNEE -> named.add(Side.RIGHT);
          case Codes.SNOMED_LEFT, Codes.SNOMED_LEFT_KNEE -> named.add(Side.LEFT);
          default -> {}
        }
      }
    }
    if (named.size() > 1) {
      throw Problem.of(
          Problem.Kind.BUSINESS_RULE,
          "A report is about one side: send one for the left and one for the right.",
          path);
    }
    return named.stream().findFirst();
  }

  /**
   * The SNOMED CT codes of the regions that a body site names, without its side: the right knee,
   * the left knee and both knees are all 72696002 (knee region). Empty when it names none.
   */
  public static Set<String> regions(CodeableConcept bodySite) {
    Set<String> regions = new TreeSet<>();
    for (Coding coding : bodySite.getCoding()) {
      if (Codes.SNOMED.equals(coding.getSystem()) && coding.hasCode()) {
        switch (coding.getCode()) {
          case Codes.SNOMED_RIGHT, Codes.SNOMED_LEFT -> {}
          case Codes.SNOMED_RIGHT_KNEE, Codes.SNOMED_LEFT_KNEE, Codes.SNOMED_BOTH_KNEES ->
              regions.add(Codes.SNOMED_KNEE);
          default -> regions.add(coding.getCode());
        }
      }
    }
    return Collections.unmodifiableSet(regions);
  }

  /** The side that has this code of ours, {@code left} or {@code right}. */
  public static Optional<Side> find(String code) {
    return Arrays.stream(Side.values()).filter(side -> side.code().equals(code)).findFirst();
  }
}

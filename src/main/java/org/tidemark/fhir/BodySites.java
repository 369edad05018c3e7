package org.tidemark.fhir;

import java.util.LinkedHashMap;
import java.util.Map;
import java.util.Optional;
import java.util.Set;
import java.util.TreeSet;
import org.hl7.fhir.r4.model.CodeableConcept;
import org.tidemark.programme.Programme;
import org.tidemark.programme.Side;

/** Where on the body a plan is, as SNOMED CT region and side. */
final class BodySites {
  /** Regions whose terms we know, the one that is written first where a programme names several. */
  private static final Map<String, Region> KNOWN = known();

  /** Regions that hold a side already; a side is written beside the region instead. */
  private static final Set<String> SIDED = Set.of(Codes.SNOMED_LEFT_KNEE, Codes.SNOMED_RIGHT_KNEE);

  private record Region(String display, String word) {}

  private BodySites() {}

  private static Map<String, Region> known() {
    Map<String, Region> regions = new LinkedHashMap<>();
    regions.put(Codes.SNOMED_KNEE, new Region("Knee region structure", "knee"));
    regions.put(Codes.SNOMED_KNEE_JOINT, new Region("Knee joint structure", "knee"));
    return regions;
  }

  /**
   * The region of the programme with the side beside it. A region whose term is not known is
   * written by its code alone.
   */
  static CodeableConcept of(Texts texts, Programme programme, Side side) {
    CodeableConcept site = new CodeableConcept();
    Optional<String> region = region(programme);
    region.ifPresent(
        code ->
            site.addCoding()
                .setSystem(Codes.SNOMED)
                .setCode(code)
                .setDisplay(
                    Optional.ofNullable(KNOWN.get(code)).map(Region::display).orElse(null)));
    site.addCoding()
        .setSystem(Codes.SNOMED)
        .setCode(side == Side.LEFT ? Codes.SNOMED_LEFT : Codes.SNOMED_RIGHT)
        .setDisplay(side == Side.LEFT ? "Left" : "Right");
    return site.setText(words(texts, programme, side));
  }

  /** Such as {@code right knee}, or {@code right side} where the region has no word. */
  static String words(Texts texts, Programme programme, Side side) {
    String word = region(programme).map(KNOWN::get).map(Region::word).orElse("side");
    return texts.of("side." + side.code(), texts.find("region." + word).orElse(word));
  }

  private static Optional<String> region(Programme programme) {
    Set<String> unsided = new TreeSet<>(programme.bodyRegions());
    unsided.removeAll(SIDED);
    return KNOWN.keySet().stream()
        .filter(unsided::contains)
        .findFirst()
        .or(() -> unsided.stream().findFirst());
  }
}

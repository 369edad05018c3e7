package org.tidemark.fhir;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.tidemark.fhir.Complaints.assertRefused;

import java.util.Optional;
import java.util.Set;
import java.util.stream.Collectors;
import java.util.stream.Stream;
import org.hl7.fhir.r4.model.CodeableConcept;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.tidemark.programme.Side;

class SidesTest {
  private static CodeableConcept site(String codes) {
    CodeableConcept site = new CodeableConcept().setText("left knee");
    Stream.of(codes.split(" "))
        .forEach(code -> site.addCoding().setSystem(Codes.SNOMED).setCode(code));
    return site;
  }

  @ParameterizedTest(name = "{0}: {1} of {2}")
  @CsvSource({
    "72696002 24028007, RIGHT, 72696002",
    "72696002 7771000, LEFT, 72696002",
    "6757004, RIGHT, 72696002",
    "82169009, LEFT, 72696002",
    "6757004 24028007, RIGHT, 72696002",
    "72696002, , 72696002",
    "36701003, , 72696002",
    "7771000, LEFT, ''",
    "30021000 24028007, RIGHT, 30021000",
  })
  void readsSideAndRegion(String codes, Side side, String regions) {
    assertEquals(Optional.ofNullable(side), Sides.of(site(codes), "Observation.bodySite"));
    assertEquals(
        Stream.of(regions.split(" ")).filter(code -> !code.isEmpty()).collect(Collectors.toSet()),
        Sides.regions(site(codes)));
  }

  @ParameterizedTest
  @CsvSource({"72696002 24028007 7771000", "6757004 82169009", "6757004 7771000"})
  void refusesBothSidesInOneBodySite(String codes) {
    assertRefused(
        () -> Sides.of(site(codes), "Observation.bodySite"), "BUSINESS_RULE Observation.bodySite");
  }

  @Test
  void readsNoTextAndNoOtherSystem() {
    CodeableConcept other = new CodeableConcept().setText("right knee");
    other.addCoding().setSystem("urn:x").setCode("24028007");
    assertEquals(Optional.empty(), Sides.of(other, "Observation.bodySite"));
    assertEquals(Set.of(), Sides.regions(other));
  }
}

package org.tidemark.fhir;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;
import static org.tidemark.fhir.Complaints.assertRefused;
import static org.tidemark.fhir.Reports.quantity;

import java.time.LocalDate;
import java.time.OffsetDateTime;
import java.util.Optional;
import org.hl7.fhir.r4.model.BooleanType;
import org.hl7.fhir.r4.model.CodeType;
import org.hl7.fhir.r4.model.DateTimeType;
import org.hl7.fhir.r4.model.Extension;
import org.hl7.fhir.r4.model.Flag;
import org.hl7.fhir.r4.model.Flag.FlagStatus;
import org.hl7.fhir.r4.model.Type;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.tidemark.decision.Fact;
import org.tidemark.decision.FactSource;
import org.tidemark.programme.Precaution;
import org.tidemark.programme.Side;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Unit;

class FlagReaderTest {
  private static final FactSource SOURCE = new FactSource("Flag", "3", 2);
  private static final String LIMIT = "Flag.extension[0]";

  private static Flag sample() {
    return Reports.sample(Flag.class, "exercise-precaution");
  }

  private static Optional<FlagReader.Limit> read(Flag flag) {
    return new FlagReader(Reports.MEASURES, Reports.ZONE).read(flag, SOURCE, Reports.NOW);
  }

  private static Precaution precaution(Flag flag) {
    return read(flag).orElseThrow().fact().precaution();
  }

  private static Extension limit(Flag flag) {
    return flag.getExtensionByUrl(Codes.LIMIT);
  }

  private static Flag with(String part, Type value) {
    Flag flag = sample();
    limit(flag).getExtensionByUrl(part).setValue(value);
    return flag;
  }

  private static Flag without(String... parts) {
    Flag flag = sample();
    for (String part : parts) {
      limit(flag).removeExtension(part);
    }
    return flag;
  }

  @Test
  void readsTheShapeThatClientsSend() {
    assertEquals(
        Optional.of(
            new FlagReader.Limit(
                new Fact.PrecautionSet(
                    OffsetDateTime.parse("2026-04-01T00:00:00+02:00"),
                    SOURCE,
                    new Precaution(
                        "No loaded flexion beyond 90 degrees after meniscal repair",
                        Precaution.Scope.LOADED,
                        Optional.of("knee-flexion"),
                        Optional.empty(),
                        Optional.of(Amount.of(90, Unit.DEGREE)),
                        LocalDate.of(2026, 4, 1),
                        Optional.of(LocalDate.of(2026, 8, 1)),
                        true,
                        false)),
                Optional.of(Side.LEFT))),
        read(sample()));
  }

  @Test
  void aFlagOfAnotherKindOrSentInErrorIsNoLimit() {
    Flag other = sample();
    other.getExtension().clear();
    assertEquals(Optional.empty(), read(other));
    Flag wrong = sample();
    wrong.setStatus(FlagStatus.ENTEREDINERROR);
    assertEquals(Optional.empty(), read(wrong));
  }

  @Test
  void convertsTheLimitToTheUnitOfItsMeasure() {
    assertEquals(
        Optional.of(Amount.of("89.9544", Unit.DEGREE)),
        precaution(with("most", quantity("1.57", "rad"))).most());
    Flag cycling = with("variable", new CodeType("cycling-time"));
    limit(cycling).getExtensionByUrl("most").setValue(quantity("0.5", "h"));
    assertEquals(Optional.of(Amount.of(30, Unit.MINUTE)), precaution(cycling).most());
    Flag unknown = with("variable", new CodeType("hip-flexion"));
    assertEquals(Optional.of(Amount.of(90, Unit.DEGREE)), precaution(unknown).most());
  }

  @Test
  void forbidsEveryExerciseInScopeWithoutAVariable() {
    Precaution all = precaution(without("applies-to", "variable", "most", "side"));
    assertEquals(Precaution.Scope.ALL, all.scope());
    assertEquals(Optional.empty(), all.measure());
    assertEquals(Optional.empty(), read(without("side")).orElseThrow().side());
  }

  /** A limit that needs clearance ends when its last day has passed and it has been lifted. */
  @ParameterizedTest(name = "{0}, clearance {1}: in force on {2}: {3}")
  @CsvSource({
    "ACTIVE, true, 2026-03-31, false",
    "ACTIVE, true, 2026-04-01, true",
    "ACTIVE, true, 2026-08-01, true",
    "ACTIVE, true, 2026-08-02, true",
    "INACTIVE, true, 2026-08-01, true",
    "INACTIVE, true, 2026-08-02, false",
    "ACTIVE, false, 2026-08-01, true",
    "ACTIVE, false, 2026-08-02, false",
  })
  void case72IsHonouredByItsPeriodAndItsClearance(
      FlagStatus status, boolean clearance, LocalDate day, boolean holds) {
    Flag flag = with("needs-clearance", new BooleanType(clearance));
    flag.setStatus(status);
    assertEquals(holds, precaution(flag).holdsOn(day));
  }

  @ParameterizedTest
  @CsvSource({"true", "false"})
  void case72WithoutALastDayItEndsOnTheDayItIsLifted(boolean clearance) {
    Flag flag = with("needs-clearance", new BooleanType(clearance));
    flag.getPeriod().setEnd(null);
    assertTrue(precaution(flag).holdsOn(LocalDate.of(2030, 1, 1)));
    flag.setStatus(FlagStatus.INACTIVE);
    Precaution lifted = precaution(flag);
    assertEquals(Optional.of(LocalDate.of(2026, 6, 1)), lifted.until());
    assertTrue(lifted.holdsOn(LocalDate.of(2026, 6, 1)));
    assertFalse(lifted.holdsOn(LocalDate.of(2026, 6, 2)));
  }

  @Test
  void aMonthRunsFromItsFirstDayToItsLast() {
    Flag flag = sample();
    flag.getPeriod().setStartElement(new DateTimeType("2026-02"));
    flag.getPeriod().setEndElement(new DateTimeType("2027-02"));
    assertEquals(LocalDate.of(2026, 2, 1), precaution(flag).from());
    assertEquals(Optional.of(LocalDate.of(2027, 2, 28)), precaution(flag).until());
    flag.setPeriod(null);
    assertTrue(precaution(flag).holdsOn(LocalDate.of(2001, 1, 1)));
  }

  @Test
  void namesEveryFaultByItsElement() {
    assertRefused(
        () -> read(with("applies-to", new CodeType("standing"))),
        "UNSUPPORTED " + LIMIT + ".extension[0].value");
    assertRefused(
        () -> read(with("most", quantity("90", "kg"))),
        "WRONG_UNIT " + LIMIT + ".extension[2].value.code");
    assertRefused(
        () -> read(with("most", new CodeType("90"))),
        "UNSUPPORTED " + LIMIT + ".extension[2].value");
    assertRefused(
        () -> read(with("needs-clearance", new CodeType("yes"))),
        "UNSUPPORTED " + LIMIT + ".extension[3].value");
    assertRefused(
        () -> read(with("side", new CodeType("both"))),
        "UNSUPPORTED " + LIMIT + ".extension[4].value");
    assertRefused(() -> read(without("most")), "MISSING " + LIMIT + ".extension('most')");
    assertRefused(() -> read(without("variable")), "MISSING " + LIMIT + ".extension('variable')");
  }

  @Test
  void refusesWhatItWouldHaveToPassOver() {
    Flag part = sample();
    limit(part).addExtension("until", new DateTimeType("2026-09-01"));
    assertRefused(() -> read(part), "UNSUPPORTED " + LIMIT + ".extension[5]");
    Flag two = sample();
    two.addExtension(limit(two).copy());
    assertRefused(() -> read(two), "BUSINESS_RULE Flag.extension[1]");
    Flag crossed = sample();
    limit(crossed).addExtension("least", quantity("91", "deg"));
    assertRefused(() -> read(crossed), "BUSINESS_RULE " + LIMIT + ".extension('least')");
    Flag backwards = sample();
    backwards.getPeriod().setEndElement(new DateTimeType("2026-03-31"));
    assertRefused(() -> read(backwards), "BUSINESS_RULE Flag.period");
    Flag bare = sample();
    bare.setStatus(null);
    bare.setSubject(null);
    bare.setCode(null);
    assertRefused(
        () -> read(bare), "MISSING Flag.status", "MISSING Flag.subject", "MISSING Flag.code.text");
  }
}

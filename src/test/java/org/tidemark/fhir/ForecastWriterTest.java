package org.tidemark.fhir;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.math.BigDecimal;
import java.util.List;
import java.util.Optional;
import org.hl7.fhir.r4.model.IdType;
import org.hl7.fhir.r4.model.Period;
import org.hl7.fhir.r4.model.RiskAssessment;
import org.hl7.fhir.r4.model.RiskAssessment.RiskAssessmentPredictionComponent;
import org.junit.jupiter.api.Test;

class ForecastWriterTest {
  private static final double[] RISING = {110, 113, 115, 119, 121, 124};

  private static RiskAssessment write(long target, double... degrees) {
    return ForecastWriter.write(Sample.PLAN, Sample.course(target, degrees), Optional.empty());
  }

  private static String words(RiskAssessment risk) {
    return risk.getText().getDivAsString();
  }

  @Test
  void chancesRiseWithTheDayByWhichTheyHold() {
    List<RiskAssessmentPredictionComponent> all = write(128, RISING).getPrediction();
    List<RiskAssessmentPredictionComponent> arrivals = all.subList(0, 3);
    assertEquals(
        List.of(new BigDecimal("0.1"), new BigDecimal("0.5"), new BigDecimal("0.9")),
        arrivals.stream()
            .map(p -> p.getProbabilityDecimalType().getValue().stripTrailingZeros())
            .toList());
    assertTrue(end(arrivals.get(0)).before(end(arrivals.get(1))));
    assertTrue(end(arrivals.get(1)).before(end(arrivals.get(2))));
    List<BigDecimal> months =
        all.subList(3, 6).stream().map(p -> p.getProbabilityDecimalType().getValue()).toList();
    assertTrue(months.get(0).compareTo(months.get(1)) <= 0);
    assertTrue(months.get(1).compareTo(months.get(2)) <= 0);
    assertEquals("2026-07-06", endDay(all.get(3)), "three months after the newest reading");
  }

  private static java.util.Date end(RiskAssessmentPredictionComponent prediction) {
    return ((Period) prediction.getWhen()).getEnd();
  }

  private static String endDay(RiskAssessmentPredictionComponent prediction) {
    return ((Period) prediction.getWhen()).getEndElement().getValueAsString().substring(0, 10);
  }

  @Test
  void itRestsOnItsReadingsAndHoldsAsOfTheNewest() {
    RiskAssessment risk = write(135, RISING);
    assertEquals(6, risk.getBasis().size());
    assertTrue(risk.getBasisFirstRep().getReference().startsWith("Observation/range-0"));
    assertEquals("2026-04-06T09:00:00+01:00", risk.getOccurrenceDateTimeType().getValueAsString());
    assertEquals("CarePlan/" + Sample.PLAN.planId(), risk.getBasedOn().getReference());
  }

  @Test
  void whatCannotBeForecastSaysWhyAndGivesNoChance() {
    RiskAssessment risk = write(135, 110, 112);
    assertEquals(1, risk.getPrediction().size());
    assertFalse(risk.getPredictionFirstRep().hasProbability());
    assertTrue(risk.getPredictionFirstRep().getRationale().contains("Fewer than three readings"));
    assertTrue(words(risk).contains("cannot be forecast"));
  }

  @Test
  void whatIsReachedIsNotForecast() {
    String words = words(write(112, RISING));
    assertTrue(words.contains("at the goal already"), words);
  }

  @Test
  void theWordsPromiseNothing() {
    String words = words(write(135, RISING));
    assertTrue(words.contains("half of such courses reach 135°"), words);
    assertTrue(words.contains("not what will be"), words);
    assertFalse(words.matches("(?s).*\\b(safe|will reach|newton|megapascal)\\b.*"), words);
  }

  @Test
  void theNextOneKeepsTheId() {
    RiskAssessment former = write(135, RISING);
    former.setId(new IdType("RiskAssessment", "r1", "3"));
    RiskAssessment next =
        ForecastWriter.write(Sample.PLAN, Sample.course(135, RISING), Optional.of(former));
    assertEquals("r1", next.getIdPart());
    assertEquals(
        RiskAssessment.RiskAssessmentStatus.CANCELLED, ForecastWriter.withdraw(former).getStatus());
  }
}

package org.tidemark.http;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.test.junit.QuarkusTest;
import java.time.LocalDate;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.List;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.DateTimeType;
import org.hl7.fhir.r4.model.Observation;
import org.junit.jupiter.api.Test;

/** What one more report costs when there are thousands already. */
@QuarkusTest
class IntakeCostTest {
  private static final int REPORTS_BEFORE = 3000;
  private static final int MEASURED = 30;

  /**
   * How much longer the median report may take for the long diary than for the short one, measured
   * in turn. The state of a plan is bounded, so the cost is the same; the allowance is for a busy
   * machine.
   */
  private static final double MOST_RATIO = 1.5;

  @Test
  void oneMoreReportCostsTheSameAfterThousands() {
    PlanPerson shortDiary = enrolledLongAgo();
    PlanPerson longDiary = enrolledLongAgo();
    int day = 1;
    for (int sent = 0; sent < REPORTS_BEFORE; sent += 500) {
      List<Observation> reports = new ArrayList<>();
      for (int i = 0; i < 250; i++, day++) {
        reports.add(at(longDiary.session(1), day, "17:30"));
        reports.add(at(longDiary.morning(1), day + 1, "07:10"));
      }
      PlanPerson.transact(reports).statusCode(200);
    }
    shortDiary.send(at(shortDiary.session(1), day - 2, "17:30"));
    shortDiary.send(at(shortDiary.morning(1), day - 1, "07:10"));
    long[] brief = new long[MEASURED];
    long[] lengthy = new long[MEASURED];
    for (int i = 0; i < MEASURED; i++, day++) {
      brief[i] = timed(at(shortDiary.session(1), day, "17:30"));
      lengthy[i] = timed(at(longDiary.session(1), day, "17:30"));
      PlanPerson.post(at(shortDiary.morning(1), day + 1, "07:10")).statusCode(201);
      PlanPerson.post(at(longDiary.morning(1), day + 1, "07:10")).statusCode(201);
    }
    double ratio = (double) median(lengthy) / median(brief);
    assertTrue(ratio <= MOST_RATIO, "ratio of the medians " + ratio);
    assertEquals(longDiary.nextAsked(), longDiary.asked());
  }

  private static PlanPerson enrolledLongAgo() {
    PlanPerson person = PlanPerson.here();
    person.send(at(person.baseline(), 0, "09:00"));
    person.send(at(person.equipment(), 0, "09:00"));
    CarePlan plan = person.enrolment();
    plan.getPeriod().setStartElement(new DateTimeType(time(0, "10:00")));
    person.send(plan);
    return person;
  }

  private static String time(int day, String time) {
    return LocalDate.of(2022, 1, 1).plusDays(day) + "T" + time + ":00+02:00";
  }

  /** A report on a day counted from long ago. */
  private static Observation at(Observation report, int day, String time) {
    report.setEffective(new DateTimeType(time(day, time)));
    return report;
  }

  private static long timed(Observation report) {
    long start = System.nanoTime();
    PlanPerson.post(report).statusCode(201);
    return System.nanoTime() - start;
  }

  private static long median(long[] times) {
    long[] sorted = times.clone();
    Arrays.sort(sorted);
    return sorted[sorted.length / 2];
  }
}

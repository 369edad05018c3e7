package org.tidemark.demand;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.junit.jupiter.params.provider.ValueSource;

/** Thigh and calf touching: where it begins and what it takes over. */
class ContactTest {
  /** Zelle 2009, J Appl Biomech 25:1-8, equations 1 and 2: force in % of body weight, arm in m. */
  @ParameterizedTest(name = "{0} degrees: {1} %BW at {2} m")
  @CsvSource({
    "140, 6.647, 0.1179, 0.784",
    "145, 12.531, 0.1233, 1.545",
    "150, 20.772, 0.1364, 2.833",
    "155, 31.370, 0.1625, 5.096",
    "160, 44.325, 0.2067, 9.161"
  })
  void thePublishedPolynomialsWorkedOutByHand(
      double flexion, double force, double arm, double moment) {
    assertEquals(force, PublishedContact.force(flexion), 0.001 * force);
    assertEquals(arm, PublishedContact.arm(flexion), 0.001 * arm);
    assertEquals(moment, PublishedContact.moment(flexion), 0.001 * moment);
  }

  /** The force that was measured in squatting, 34.2 %BW, and in kneeling, 30.9 (Zelle 2007). */
  @Test
  void thePolynomialReachesTheMeasuredForces() {
    assertEquals(30.9, PublishedContact.force(154.8), 0.1);
    assertEquals(34.2, PublishedContact.force(156.2), 0.1);
  }

  /** Why the polynomial is not used: it is 1.95 %BW at its lowest, and rises again below. */
  @Test
  void thePolynomialNeverReachesNothing() {
    assertEquals(1.95, PublishedContact.force(130.0), 0.01);
    assertTrue(PublishedContact.force(120) > PublishedContact.force(130));
  }

  /** The smooth form of the same data, in % of body weight times metres. */
  @ParameterizedTest(name = "{0} degrees: {1} %BW m")
  @CsvSource({"140, 0.663", "150, 2.633", "155, 5.082"})
  void theSmoothFormIsThePublishedOne(double flexion, double moment) {
    assertEquals(moment, 100 * Contact.moment(flexion, 130), 0.001 * moment);
    assertEquals(PublishedContact.moment(flexion), 100 * Contact.moment(flexion, 130), 0.21);
  }

  @ParameterizedTest(name = "onset {0}")
  @ValueSource(doubles = {90, 115, 130, 138, 160})
  void nothingUpToTheOnsetAndNeverLessBeyond(double onset) {
    assertEquals(0, Contact.moment(onset - 40, onset), 0);
    assertEquals(0, Contact.moment(onset - 0.1, onset), 0);
    assertEquals(0, Contact.moment(onset, onset), 0);
    double before = 0;
    for (double flexion = onset + 0.1; flexion <= 170; flexion += 0.1) {
      double moment = Contact.moment(flexion, onset);
      assertTrue(moment >= before && moment > 0, "at " + flexion);
      before = moment;
    }
  }

  /** A tenth of a degree moves it by less than 0.1 % of body weight times a metre, everywhere. */
  @Test
  void itBeginsWithoutAJump() {
    for (double flexion = 120; flexion < 150; flexion += 0.1) {
      double step = Contact.moment(flexion + 0.1, 130) - Contact.moment(flexion, 130);
      assertTrue(step < 0.001, "at " + flexion);
    }
  }

  @Test
  void thePersonsOwnOnsetMovesTheWholeCurve() {
    assertEquals(Contact.moment(150, 130), Contact.moment(140, 120), 1e-12);
    assertTrue(Contact.moment(150, 120) > Contact.moment(150, 130));
  }

  /** The data end at 165 degrees. */
  @Test
  void nothingIsReadBeyondTheData() {
    assertEquals(Contact.moment(165, 130), Contact.moment(166, 130), 0);
    assertTrue(Contact.moment(164.9, 130) < Contact.moment(165, 130));
    assertEquals(Contact.moment(165, 130), Contact.moment(165, 100), 0);
  }

  /**
   * ANSUR II 2012, mean girth of calf and lower thigh, meeting 0.15 m from the knee: men 129.7,
   * women 131.5 degrees, both within 130 ± 10.
   */
  @ParameterizedTest(name = "calf {0} m, lower thigh {1} m: {2} degrees")
  @CsvSource({"0.392, 0.409, 129.7", "0.373, 0.401, 131.5"})
  void theMeanPersonTouchesAtAbout130(double calf, double thigh, double expected) {
    double onset = Contact.onset(calf, thigh, 0.15);
    assertEquals(expected, onset, 0.6);
    assertEquals(130, onset, 10);
  }

  /** The 95th percentile of both girths: 122.5 and 123.8; the 5th: 136.1 and 138.0. */
  @ParameterizedTest(name = "calf {0} m, lower thigh {1} m: {2} degrees")
  @CsvSource({
    "0.443, 0.4616, 122.5",
    "0.423, 0.4586, 123.8",
    "0.346, 0.3564, 136.1",
    "0.328, 0.3434, 138.0"
  })
  void thickLegsTouchSooner(double calf, double thigh, double expected) {
    assertEquals(expected, Contact.onset(calf, thigh, 0.15), 0.8);
  }

  /** Where they meet moves it by 10 to 14 degrees: 0.12 to 0.18 m from the knee. */
  @Test
  void meetingNearerTheKneeIsSooner() {
    double middle = Contact.onset(0.392, 0.409, 0.15);
    assertEquals(-14, Contact.onset(0.392, 0.409, 0.12) - middle, 1.5);
    assertEquals(9, Contact.onset(0.392, 0.409, 0.18) - middle, 1.5);
  }

  @Test
  void theOnsetStaysWithinWhatCanBe() {
    assertEquals(Contact.EARLIEST_ONSET, Contact.onset(0.8, 1.2, 0.12), 0);
    assertEquals(Contact.PUBLISHED_END, Contact.onset(0.05, 0.05, 0.18), 0);
  }
}

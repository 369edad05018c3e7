package org.tidemark.fhir;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.io.StringReader;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.regex.Pattern;
import java.util.stream.Stream;
import javax.xml.parsers.DocumentBuilderFactory;
import org.hl7.fhir.r4.model.Narrative;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.junit.jupiter.params.provider.EnumSource;
import org.junit.jupiter.params.provider.MethodSource;
import org.tidemark.decision.Change;
import org.tidemark.decision.Decision;
import org.tidemark.decision.Reason;
import org.tidemark.decision.Verdict;
import org.tidemark.decision.Warning;
import org.tidemark.programme.Programme;
import org.tidemark.programme.Variation;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.PainScore;
import org.tidemark.quantity.Unit;
import org.tidemark.response.Response;
import org.tidemark.response.ResponsePolicy;
import org.tidemark.response.Symptoms;
import org.w3c.dom.Document;
import org.xml.sax.InputSource;

/**
 * A viewer that shows nothing but the narrative still shows everything that a person needs to stay
 * safe.
 */
class PlanTextTest {

  @Test
  void aPlanSaysWhatToDoHowMuchWhyAndWhatToWatchFor() throws Exception {
    Decision decision =
        new Sample.Builder(Verdict.PROGRESS, Reason.SETTLED)
            .change(Sample.LOWER)
            .inForce(Sample.STEP)
            .precautions("No loaded flexion beyond 90 degrees")
            .considered(
                new Change.Considered(
                    Sample.LOWER,
                    Reason.STEP_TOO_BIG,
                    Optional.of(new Change.Piece("book", Amount.of(5, Unit.CENTIMETRE))),
                    Optional.empty()))
            .decision();
    String words = words(PlanText.plan(Sample.PLAN, decision, decision, List.of()));
    contains(
        words,
        "Full bend under load, right knee",
        "4 May 2026, 07:30",
        "2 sets of 10 repetitions, daily",
        "Height of the step under the front foot: 17.5 cm.",
        "height of the step under the front foot from 24 cm to 17.5 cm",
        Reason.SETTLED.sentence(),
        "Answered sessions: 8, of which not settled: 1.",
        "79.9 %; a step up needs 80 %",
        "Done of what was asked: 95 %.",
        "A book of 5 cm would open the way.",
        "No loaded flexion beyond 90 degrees",
        "above 5 out of 10 always stop.",
        "The foot is numb or cold.",
        "Local codes and licensed practice come first.",
        "Not for use without a clinician");
    assertFalse(words.contains("Dumbbell"), words);
  }

  @ParameterizedTest
  @EnumSource(Warning.class)
  void everyWarningSignIsAmongWhatToWatchFor(Warning sign) throws Exception {
    contains(
        words(PlanText.plan(Sample.PLAN, Sample.progress(), Sample.progress(), List.of())),
        sign.sentence(),
        sign.urgency().sentence());
  }

  @Test
  void withheldExerciseIsSaidFirstWithTheMostPressingUrgency() throws Exception {
    String words = words(PlanText.plan(Sample.PLAN, Sample.warned(), Sample.warned(), List.of()));
    contains(words, "NO EXERCISE", Warning.CALF_SWELLING.sentence(), Warning.NIGHT_PAIN.sentence());
    String now = words.substring(words.indexOf("NO EXERCISE"), words.indexOf("Why"));
    contains(now, "Seek emergency care now.");
    assertFalse(now.contains("See a clinician within days."), now);
    assertFalse(words.contains("How much:"), words);
    contains(words, "A clinician is asked to review the plan.");
  }

  @Test
  void withholdingWithoutAWarningSaysWhy() throws Exception {
    Decision held = new Sample.Builder(Verdict.WITHHOLD, Reason.PLAN_ON_HOLD).decision();
    String words = words(PlanText.plan(Sample.PLAN, held, held, List.of()));
    contains(words, "NO EXERCISE", Reason.PLAN_ON_HOLD.sentence());
  }

  @Test
  void nothingInForceIsSaid() throws Exception {
    Decision nothing = new Sample.Builder(Verdict.MAINTAIN, Reason.NOTHING_NEW).decision();
    contains(
        words(PlanText.plan(Sample.PLAN, nothing, nothing, List.of())), "Nothing is asked for");
  }

  @Test
  void aMissingBaselineIsListedAndNothingIsAsked() throws Exception {
    Decision missing = Sample.incomplete();
    String words = words(PlanText.plan(Sample.PLAN, missing, missing, List.of()));
    contains(words, "nothing is guessed", "gap or contact", "can kneel");
    assertFalse(words.contains("How much:"), words);
    assertFalse(words.contains("Stop for the day"), words);
  }

  @Test
  void whatWaitsIsToldApartFromWhatIsInForce() throws Exception {
    Decision waiting =
        new Sample.Builder(Verdict.PROGRESS, Reason.SETTLED)
            .change(Sample.LOWER)
            .inForce(Sample.STEP)
            .proposal(Sample.STEP)
            .decision();
    String words = words(PlanText.plan(Sample.PLAN, waiting, waiting, List.of()));
    String clinician = words.substring(words.indexOf("What waits for the clinician"));
    contains(clinician, "not to be done before a clinician has agreed", "from 24 cm to 17.5 cm");
    String before = words.substring(0, words.indexOf("What waits for the clinician"));
    assertFalse(before.contains("from 24 cm to 17.5 cm"), before);
  }

  @Test
  void anOlderChangeIsToldBesideTheLastReview() throws Exception {
    Decision last =
        Sample.maintain(Reason.EVIDENCE_THIN).asOf("2026-05-06T08:00:00+02:00").decision();
    String words =
        words(PlanText.plan(Sample.PLAN, Sample.progress(), last, List.of("Walk to work")));
    contains(
        words,
        "Last review as of 6 May 2026, 08:00",
        "It has stood so since 4 May 2026.",
        Reason.SETTLED.sentence(),
        "from 24 cm to 17.5 cm",
        Reason.EVIDENCE_THIN.sentence(),
        "Also in this plan",
        "Walk to work");
  }

  /**
   * The kinds of injection that OWASP's lists name (elements, attributes, comments, sections,
   * entities, addresses, templates), each in words of our own.
   */
  static Stream<String> injections() {
    return Stream.of(
        "<script>alert(1)</script> <b>&\"' ]]>",
        "<img src=x onerror=alert(1)>",
        "<svg/onload=alert(1)>",
        "\"><iframe src=\"javascript:alert(1)\"></iframe>",
        "' onmouseover='alert(1)",
        "<!-- --><![CDATA[<b>]]>",
        "</div></body><h1>",
        "&lt;script&gt;alert(1)&lt;/script&gt;",
        "&#60;b&#62; &#x3c;b&#x3e; &unknown;",
        "<a href=\" javascript:alert(1)\">x</a>",
        "<a href=\"data:text/html;base64,PGI+\">x</a>",
        "{0} '{'1'}' ${7*7} {{7*7}} #{7*7} {plan.title.raw}",
        "\u202Ereversed\u202C <b>");
  }

  @ParameterizedTest
  @MethodSource("injections")
  void everyValueIsTextAndNeverMarkup(String evil) throws Exception {
    Variation rock = Sample.ROCK;
    Variation marked =
        new Variation(
            rock.code(),
            evil,
            evil,
            true,
            true,
            Map.of(),
            rock.variables(),
            rock.ladder(),
            Optional.empty());
    Programme programme = Sample.programme(evil, marked);
    Decision decision = Sample.maintain(Reason.EVIDENCE_THIN).precautions(evil).decision();
    PlanIdentity plan = Sample.plan(programme);
    marksUpNothing(PlanText.plan(plan, decision, decision, List.of(evil)), evil, 5);
    marksUpNothing(PlanText.decision(plan, decision), evil, 4);
    for (PrescriptionWriter.Kind kind : PrescriptionWriter.Kind.values()) {
      marksUpNothing(PlanText.prescription(plan, Sample.STEP, decision, kind), evil, 4);
    }
  }

  private static void marksUpNothing(Narrative narrative, String evil, int times) throws Exception {
    String div = narrative.getDivAsString();
    assertFalse(div.contains("<script"), div);
    Document parsed = parse(div);
    for (String element : List.of("script", "img", "svg", "iframe", "a", "h1")) {
      assertEquals(0, parsed.getElementsByTagName(element).getLength(), element);
    }
    String words = parsed.getDocumentElement().getTextContent();
    assertEquals(times, words.split(Pattern.quote(evil), -1).length - 1, words);
  }

  @Test
  void everyNarrativeIsGeneratedAndInTheXhtmlNamespace() throws Exception {
    Narrative narrative = PlanText.decision(Sample.PLAN, Sample.progress());
    assertEquals(Narrative.NarrativeStatus.GENERATED, narrative.getStatus());
    assertEquals(
        "http://www.w3.org/1999/xhtml",
        parse(narrative.getDivAsString()).getDocumentElement().getNamespaceURI());
  }

  @Test
  void figuresThatNoExerciseWasLookedAtForAreLeftOut() throws Exception {
    Decision none =
        Sample.maintain(Reason.NOTHING_NEW)
            .figures(
                new Decision.Figures(
                    0,
                    0,
                    0,
                    0.8,
                    0,
                    1,
                    0,
                    2,
                    Optional.of(PainScore.of(1)),
                    Optional.empty(),
                    List.of()))
            .decision();
    String words = words(PlanText.decision(Sample.PLAN, none));
    contains(words, "Flares within the last 14 days: 2.", "to compare with: 1 out of 10");
    assertFalse(words.contains("Answered sessions"), words);
  }

  @Test
  void evidenceThatIsAskedForTwiceIsSaid() throws Exception {
    Decision again =
        Sample.maintain(Reason.BACK_OFF)
            .figures(
                new Decision.Figures(
                    8, 0, 0.5, 0.8, 0.2, 2, 1, 0, Optional.empty(), Optional.empty(), List.of()))
            .decision();
    contains(words(PlanText.decision(Sample.PLAN, again)), "needs 2 times the usual evidence");
  }

  @ParameterizedTest(name = "{0}")
  @EnumSource(ResponsePolicy.class)
  void theSessionRuleIsWhereEveryPolicyTurnsToAFlare(ResponsePolicy policy) {
    PainScore rest = PainScore.of(SafetyText.ACCEPTED_PAIN);
    assertEquals(Response.FLARED, policy.judge(during(SafetyText.ACCEPTED_PAIN + 1, rest)));
    assertTrue(policy.judge(during(SafetyText.ACCEPTED_PAIN, rest)) != Response.FLARED);
  }

  @ParameterizedTest(name = "{0}: {1}")
  @CsvSource(
      delimiter = '|',
      value = {
        "REGRESS  | FLARE      | Back to something easier.",
        "MAINTAIN | NOTHING_NEW | As it is.",
        "COMPLETE | GOALS_HELD | Every goal is met and held.",
        "PLACE    | PLACED     | A first prescription."
      })
  void aDecisionIsHeadedByWhatItComesTo(Verdict verdict, Reason reason, String heading) {
    assertEquals(
        heading, PlanText.heading(Sample.TEXTS, new Sample.Builder(verdict, reason).decision()));
  }

  private static Symptoms during(int pain, PainScore rest) {
    return new Symptoms(
        rest,
        Optional.of(PainScore.of(pain)),
        Optional.of(rest),
        Optional.of(rest),
        false,
        false,
        false,
        false);
  }

  private static void contains(String words, String... parts) {
    for (String part : parts) {
      assertTrue(words.contains(part), "'" + part + "' is missing in: " + words);
    }
  }

  private static String words(Narrative narrative) throws Exception {
    return parse(narrative.getDivAsString()).getDocumentElement().getTextContent();
  }

  private static Document parse(String div) throws Exception {
    DocumentBuilderFactory factory = DocumentBuilderFactory.newInstance();
    factory.setNamespaceAware(true);
    return factory.newDocumentBuilder().parse(new InputSource(new StringReader(div)));
  }
}

package org.tidemark.fhir;

import static org.junit.jupiter.api.Assertions.assertEquals;

import java.math.BigDecimal;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.Set;
import org.hl7.fhir.r4.model.ActivityDefinition;
import org.hl7.fhir.r4.model.BooleanType;
import org.hl7.fhir.r4.model.CanonicalType;
import org.hl7.fhir.r4.model.CodeType;
import org.hl7.fhir.r4.model.Coding;
import org.hl7.fhir.r4.model.DecimalType;
import org.hl7.fhir.r4.model.Element;
import org.hl7.fhir.r4.model.Enumerations.PublicationStatus;
import org.hl7.fhir.r4.model.Extension;
import org.hl7.fhir.r4.model.PlanDefinition;
import org.hl7.fhir.r4.model.PositiveIntType;
import org.hl7.fhir.r4.model.Quantity;
import org.hl7.fhir.r4.model.StringType;
import org.hl7.fhir.r4.model.Timing;
import org.hl7.fhir.r4.model.Type;
import org.junit.jupiter.api.Test;
import org.tidemark.programme.Direction;
import org.tidemark.programme.Dose;
import org.tidemark.programme.DoseLadder;
import org.tidemark.programme.Exercise;
import org.tidemark.programme.GoalDefinition;
import org.tidemark.programme.Placement;
import org.tidemark.programme.PlateauOption;
import org.tidemark.programme.Programme;
import org.tidemark.programme.ProgrammeId;
import org.tidemark.programme.ProgressionVariable;
import org.tidemark.programme.Side;
import org.tidemark.programme.Source;
import org.tidemark.programme.Stage;
import org.tidemark.programme.Variation;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Unit;

/**
 * A programme that a clinic writes for itself, with codes of its own, reads like the shipped ones.
 */
class ProgrammeOfAClinicTest {
  private static final String HOME = "https://harbour-clinic.example/fhir";
  private static final String CODES = HOME + "/CodeSystem/exercises";

  @Test
  void itIsReadWholeAndFitsTheProfiles() {
    ActivityDefinition reach = reach();
    PlanDefinition plan = plan();
    Programme expected =
        new Programme(
            new ProgrammeId(HOME + "/PlanDefinition/shoulder-reach", "2.1"),
            "Reaching up",
            Set.of("shoulder"),
            List.of(List.of("arm-elevation")),
            List.of(new Placement(Optional.of("reaching"), List.of())),
            List.of(
                new Stage(
                    "reaching",
                    "Reaching",
                    new BigDecimal("0.3"),
                    List.of(),
                    List.of(
                        new Exercise(
                            variation(),
                            Exercise.Role.LEAD,
                            List.of(),
                            Map.of(),
                            0,
                            List.of("shelf-height"))))),
            List.of(
                new GoalDefinition(
                    "shelf",
                    "Reach the top shelf",
                    "shelf-height",
                    GoalDefinition.Kind.SETTING,
                    Optional.of(Amount.of(190, Unit.CENTIMETRE)),
                    Optional.empty(),
                    Optional.empty(),
                    List.of(),
                    Direction.INCREASE)),
            List.of(new PlateauOption("wait", "Give it time", "", "")),
            2,
            Programme.USUAL_DEMAND_CAP,
            Programme.USUAL_ADHERENCE);

    assertEquals(
        expected,
        ProgrammeReader.read(
            plan,
            url -> url.equals(reach.getUrl() + "|3.0") ? Optional.of(reach) : Optional.empty()));
    assertEquals(
        List.of(
            new Reading(
                "arm-elevation",
                "https://harbour-clinic.example/codes",
                "AE-R",
                Optional.of(Side.RIGHT))),
        ProgrammeReader.readings(plan));
    assertEquals(List.of(), ProfileValidation.errors(plan, Codes.structure("graded-programme")));
    assertEquals(List.of(), ProfileValidation.errors(reach, Codes.structure("exercise-variation")));
  }

  private static Variation variation() {
    return new Variation(
        "shelf-reach",
        "Reaching for a shelf",
        "Slide your hand up the wall to the height in your plan. Nothing may hurt.",
        false,
        false,
        Map.of("arm-elevation", Amount.of(150, Unit.DEGREE)),
        List.of(
            new ProgressionVariable(
                "shelf-height",
                "Height of the shelf",
                Direction.INCREASE,
                new Source.Range(
                    Amount.of(100, Unit.CENTIMETRE),
                    Amount.of(200, Unit.CENTIMETRE),
                    Amount.of("2.5", Unit.CENTIMETRE)),
                Optional.empty(),
                Optional.empty(),
                Optional.empty(),
                BigDecimal.ZERO,
                List.of())),
        new DoseLadder(List.of(new Dose(1, 0, 0, 60, 14), new Dose(2, 0, 0, 60, 14)), 1),
        Optional.empty());
  }

  private static ActivityDefinition reach() {
    ActivityDefinition reach = new ActivityDefinition();
    reach.setUrl(HOME + "/ActivityDefinition/shelf-reach").setVersion("3.0").setName("ShelfReach");
    reach.setTitle("Reaching for a shelf").setStatus(PublicationStatus.ACTIVE);
    reach.setUsage("Slide your hand up the wall to the height in your plan. Nothing may hurt.");
    reach.setKind(ActivityDefinition.ActivityDefinitionKind.SERVICEREQUEST);
    reach.setCode(Codes.concept(CODES, "shelf-reach", "Reaching for a shelf"));
    Timing twiceADay = new Timing();
    twiceADay.getRepeat().setFrequency(2).setPeriod(1).setPeriodUnit(Timing.UnitsOfTime.D);
    reach.setTiming(twiceADay);
    reach.addExtension(Codes.structure("load-bearing"), new BooleanType(false));
    reach.addExtension(Codes.structure("contact-asked"), new BooleanType(false));
    reach.addExtension(
        group(
            Codes.structure("reach"),
            part("measure", new CodeType("arm-elevation")),
            part("value", quantity("150", "deg"))));
    reach.addExtension(
        group(
            Codes.structure("progression"),
            part("variable", new CodeType("shelf-height")),
            part("title", new StringType("Height of the shelf")),
            part("harder", new CodeType("increase")),
            group(
                "source",
                part("kind", new CodeType("range")),
                part("from", quantity("100", "cm")),
                part("to", quantity("200", "cm")),
                part("by", quantity("2.5", "cm")))));
    reach.addExtension(
        group(
            Codes.structure("dose"),
            part("sets", new PositiveIntType(1)),
            part("time", quantity("60", "s"))));
    reach.addExtension(
        group(
            Codes.structure("dose"),
            part("sets", new PositiveIntType(2)),
            part("time", quantity("60", "s")),
            part("base", new BooleanType(true))));
    return reach;
  }

  private static PlanDefinition plan() {
    PlanDefinition plan = new PlanDefinition();
    plan.setUrl(HOME + "/PlanDefinition/shoulder-reach").setVersion("2.1").setName("ShoulderReach");
    plan.setTitle("Reaching up").setStatus(PublicationStatus.ACTIVE);
    Coding shoulder = new Coding("https://harbour-clinic.example/codes", "shoulder", "Shoulder");
    plan.addExtension(Codes.structure("body-region"), shoulder);
    plan.addExtension(
        group(Codes.structure("needed-item"), part("item", new CodeType("arm-elevation"))));
    plan.addExtension(group(Codes.structure("placement"), part("stage", new CodeType("reaching"))));
    plan.addExtension(
        group(
            Codes.structure("plateau-option"),
            part("code", new CodeType("wait")),
            part("title", new StringType("Give it time"))));
    plan.addExtension(Codes.structure("maintenance-frequency"), new PositiveIntType(2));
    plan.addExtension(
        group(
            Codes.structure("reads"),
            part("item", new CodeType("arm-elevation")),
            part("coding", new Coding("https://harbour-clinic.example/codes", "AE-R", null)),
            part("side", new CodeType("right"))));
    PlanDefinition.PlanDefinitionGoalComponent goal = plan.addGoal();
    extend(goal, "goal-code", new CodeType("shelf"));
    extend(goal, "goal-measured-in", new CodeType("setting"));
    extend(goal, "better", new CodeType("increase"));
    goal.getDescription().setText("Reach the top shelf");
    goal.addTarget()
        .setMeasure(Codes.concept(HOME + "/CodeSystem/variables", "shelf-height", null))
        .setDetail(quantity("190", "cm"));
    PlanDefinition.PlanDefinitionActionComponent stage = plan.addAction().setTitle("Reaching");
    extend(stage, "stage", new CodeType("reaching"));
    extend(stage, "tolerated-rate", new DecimalType("0.3"));
    PlanDefinition.PlanDefinitionActionComponent exercise = stage.addAction();
    exercise.setDefinition(new CanonicalType(HOME + "/ActivityDefinition/shelf-reach|3.0"));
    extend(exercise, "role", new CodeType("lead"));
    extend(exercise, "progresses", new CodeType("shelf-height"));
    return plan;
  }

  private static void extend(Element element, String name, Type value) {
    element.addExtension(Codes.structure(name), value);
  }

  private static Extension part(String name, Type value) {
    return new Extension(name, value);
  }

  private static Extension group(String name, Extension... parts) {
    Extension group = new Extension(name);
    List.of(parts).forEach(group::addExtension);
    return group;
  }

  private static Quantity quantity(String value, String unit) {
    return new Quantity()
        .setValue(new BigDecimal(value))
        .setUnit(unit)
        .setSystem(Codes.UCUM)
        .setCode(unit);
  }
}

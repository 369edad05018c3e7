package org.tidemark.fhir;

import org.hl7.fhir.r4.model.CodeableConcept;
import org.hl7.fhir.r4.model.Coding;

/** Every address and code that the service speaks on the wire, in one place. */
public final class Codes {
  /** The canonical base of our own artefacts. */
  public static final String BASE = "https://tidemark.example/fhir";

  public static final String EXERCISE_VARIATION = BASE + "/CodeSystem/exercise-variation";
  public static final String PROGRESSION_VARIABLE = BASE + "/CodeSystem/progression-variable";
  public static final String REPORT_ITEM = BASE + "/CodeSystem/report-item";
  public static final String EQUIPMENT_ITEM = BASE + "/CodeSystem/equipment-item";
  public static final String SESSION_RESPONSE = BASE + "/CodeSystem/session-response";
  public static final String DECISION = BASE + "/CodeSystem/decision";
  public static final String DECISION_REASON = BASE + "/CodeSystem/decision-reason";
  public static final String WARNING = BASE + "/CodeSystem/warning";
  public static final String STAGE = BASE + "/CodeSystem/stage";
  public static final String CLINICIAN_TASK = BASE + "/CodeSystem/clinician-task";

  public static final String FIGURE = BASE + "/CodeSystem/figure";
  public static final String TARGET_BASIS = BASE + "/CodeSystem/target-basis";
  public static final String FORECAST_METHOD = BASE + "/CodeSystem/forecast-method";

  public static final String CARE_PLAN_CATEGORY =
      "http://hl7.org/fhir/us/core/CodeSystem/careplan-category";
  public static final String GOAL_CATEGORY = "http://terminology.hl7.org/CodeSystem/goal-category";
  public static final String PARTICIPANT_TYPE =
      "http://terminology.hl7.org/CodeSystem/provenance-participant-type";
  public static final String DATA_OPERATION =
      "http://terminology.hl7.org/CodeSystem/v3-DataOperation";

  public static final String SNOMED_PHYSICAL_THERAPY = "91251008";
  public static final String SNOMED_THERAPEUTIC_EXERCISE = "51998003";
  public static final String SNOMED_KNEE_JOINT = "49076000";

  public static final String SNOMED = "http://snomed.info/sct";
  public static final String LOINC = "http://loinc.org";
  public static final String UCUM = "http://unitsofmeasure.org";
  public static final String TASK_CODE = "http://hl7.org/fhir/CodeSystem/task-code";
  public static final String GOAL_ACHIEVEMENT =
      "http://terminology.hl7.org/CodeSystem/goal-achievement";
  public static final String OBSERVATION_CATEGORY =
      "http://terminology.hl7.org/CodeSystem/observation-category";

  public static final String SNOMED_RIGHT = "24028007";
  public static final String SNOMED_LEFT = "7771000";
  public static final String SNOMED_RIGHT_KNEE = "6757004";
  public static final String SNOMED_LEFT_KNEE = "82169009";
  public static final String SNOMED_KNEE = "72696002";
  public static final String LOINC_PAIN = "72514-3";
  public static final String LOINC_EXERCISE_DURATION = "55411-3";

  /** Both knees: a region without a side (SNOMED CT, as in the standard's own examples). */
  public static final String SNOMED_BOTH_KNEES = "36701003";

  /** The extension that says which side a plan or a limit is for. */
  public static final String SIDE = structure("side");

  /** The extension that says by which policy responses are read. */
  public static final String RESPONSE_POLICY = structure("response-policy");

  /** The extension that says which changes wait for a clinician. */
  public static final String CHANGE_CONTROL = structure("change-control");

  /** The extension that makes a Flag a limit on exercise. */
  public static final String LIMIT = structure("limit");

  /** The extension that holds one value that an exercise is set to. */
  public static final String SETTING = structure("setting");

  /** The extension that says since when a goal has been met. */
  public static final String GOAL_REACHED = structure("goal-reached");

  /** The extension that holds how much of an exercise is asked for. */
  public static final String DOSE = structure("dose");

  /** The extension that names the stage of the programme. */
  public static final String STAGE_OF = structure("stage");

  private Codes() {}

  /** The address of one of our extensions or profiles. */
  public static String structure(String name) {
    return BASE + "/StructureDefinition/" + name;
  }

  /** A concept with one coding. */
  public static CodeableConcept concept(String system, String code, String display) {
    return new CodeableConcept().addCoding(new Coding(system, code, display));
  }
}

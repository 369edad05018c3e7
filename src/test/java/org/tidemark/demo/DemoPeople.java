package org.tidemark.demo;

import static java.time.DayOfWeek.FRIDAY;
import static java.time.DayOfWeek.MONDAY;
import static java.time.DayOfWeek.WEDNESDAY;

import java.time.LocalTime;
import java.util.ArrayList;
import java.util.List;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.CodeType;
import org.hl7.fhir.r4.model.CodeableConcept;
import org.hl7.fhir.r4.model.Coding;
import org.hl7.fhir.r4.model.DateType;
import org.hl7.fhir.r4.model.Enumerations.AdministrativeGender;
import org.hl7.fhir.r4.model.Extension;
import org.hl7.fhir.r4.model.Flag;
import org.hl7.fhir.r4.model.Organization;
import org.hl7.fhir.r4.model.Patient;
import org.hl7.fhir.r4.model.Period;
import org.hl7.fhir.r4.model.Practitioner;
import org.hl7.fhir.r4.model.PractitionerRole;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.Resource;
import org.hl7.fhir.r4.model.Task.TaskStatus;
import org.tidemark.fhir.Codes;

/** The invented clinic and its people. Nobody in it exists. */
final class DemoPeople {
  static final String THERAPIST = "corin-hallowmere";
  private static final String SURGEON = "petra-osterwyck";
  private static final String CLINIC = "marram-lane";
  private static final String ANKLE = "344001";
  private static final String KNEE_PROGRAMME = "knee-deep-flexion|1.0.0";

  /**
   * A person of the demo.
   *
   * @param enrolment Patient, baseline, equipment, limits and plan, as a transaction
   * @param diary what came in from then on, in order
   */
  record Person(String id, Bundle enrolment, List<Resource> diary) {}

  private DemoPeople() {}

  static List<Person> all() {
    return List.of(liesbet(), tobin(), saoirse(), ambrose(), yusra());
  }

  static Bundle clinic() {
    Organization clinic = new Organization();
    clinic.setId(CLINIC);
    clinic.setActive(true);
    clinic.setName("Marram Lane Movement Clinic (invented)");
    return transaction(
        List.of(
            clinic,
            practitioner(THERAPIST, "Hallowmere", "Corin"),
            role(THERAPIST, "Physiotherapist"),
            practitioner(SURGEON, "Osterwyck", "Petra"),
            role(SURGEON, "Orthopaedic surgeon")));
  }

  /** From the towel to the step and lower, with sign-offs on the way. */
  private static Person liesbet() {
    String id = "liesbet-quarmby";
    CodeableConcept knee = knee("right");
    Sheet baseline =
        baseline(id, knee)
            .says("comfortable-flexion", Sheet.of("118", "deg"))
            .says("other-side-flexion", Sheet.of("146", "deg"))
            .says("gap", Sheet.of("8", "cm"))
            .says("contact", Sheet.yes(false))
            .says("pain-at-rest", Sheet.score(0))
            .says("can-kneel", Sheet.yes(true))
            .says("can-stand-on-one-leg", Sheet.yes(true))
            .says("wall-lunge-distance", Sheet.of("11", "cm"))
            .says("body-height", Sheet.of("167", "cm"))
            .says("body-weight", Sheet.of("64", "kg"));
    Sheet equipment =
        equipment(id)
            .owns("stair-riser", Sheet.of("17", "cm"))
            .owns("stair-count", Sheet.count(12))
            .owns("towel-roll", Sheet.of("6", "cm"))
            .owns("towel-roll", Sheet.of("3", "cm"))
            .owns("block", Sheet.of("9", "cm"))
            .owns("dumbbell-pair", Sheet.of("1", "kg"))
            .owns("dumbbell-pair", Sheet.of("2", "kg"))
            .owns("hand-support", Sheet.yes(true));
    Story story =
        new Story(id, knee, 0, true, 11)
            .doing("03-02", 1, 10, 0)
            .doing("03-07", 2, 10, 0)
            .off("03-15", "04-05", "04-26", "05-17", "06-07", "06-28", "07-19")
            .bare("03-20", "04-17", "05-29")
            .felt("04-08", 1, 0, 0)
            .felt("06-10", 2, 0, 0)
            .noContact("04-20")
            .mistyped("05-06", 4)
            .answered(
                "04-15", "approve", TaskStatus.ACCEPTED, "Seen in clinic; ready for the step.")
            .answered("06-12", "approve", TaskStatus.ACCEPTED, "Form is good; add the light pair.")
            .measured("03-16", "41347-6", "121", "deg", "goniometer")
            .measured("03-30", "comfortable-flexion", "125", "deg", "phone")
            .measured("04-13", "41347-6", "2.23", "rad", "inclinometer")
            .measured("04-27", "comfortable-flexion", "131", "deg", "self-measured")
            .measured("05-11", "41347-6", "134", "deg", "goniometer")
            .measured("05-25", "comfortable-flexion", "136", "deg", "phone")
            .measured("06-08", "41347-6", "139", "deg", "goniometer")
            .measured("06-22", "heel-to-buttock", "3", "[in_i]", "self-measured")
            .measured("07-06", "41347-6", "141", "deg", "goniometer")
            .measured("07-20", "comfortable-flexion", "143", "deg", "phone");
    return new Person(
        id,
        enrolment(
            patient(id, "Quarmby", "Liesbet", AdministrativeGender.FEMALE, "1979-05-14"),
            baseline,
            equipment,
            List.of(),
            plan(id, KNEE_PROGRAMME, "right", "symptom-free", "within-stage")),
        story.tell());
  }

  /** Flares twice, is eased back, and recovers. */
  private static Person tobin() {
    String id = "tobin-ashgrove";
    CodeableConcept knee = knee("left");
    Sheet baseline =
        baseline(id, knee)
            .says("comfortable-flexion", Sheet.of("112", "deg"))
            .says("other-side-flexion", Sheet.of("138", "deg"))
            .says("gap", Sheet.of("3", "[in_i]"))
            .says("pain-at-rest", Sheet.score(1))
            .says("can-kneel", Sheet.yes(false))
            .says("can-stand-on-one-leg", Sheet.yes(true))
            .says("body-height", Sheet.of("71", "[in_i]"))
            .says("body-weight", Sheet.of("194", "[lb_av]"));
    Sheet equipment =
        equipment(id)
            .owns("stair-riser", Sheet.of("7", "[in_i]"))
            .owns("stair-count", Sheet.count(13))
            .owns("towel-roll", Sheet.of("2", "[in_i]"))
            .owns("towel-roll", Sheet.of("1.5", "[in_i]"))
            .owns("book", Sheet.of("2", "[in_i]"))
            .owns("book", Sheet.of("2", "[in_i]"))
            .owns("bench", Sheet.of("8", "[in_i]"))
            .owns("bench", Sheet.of("4", "[in_i]"))
            .owns("hand-support", Sheet.yes(true));
    Story story =
        new Story(id, knee, 1, true, 23)
            .off("03-22", "04-12", "05-10", "05-31", "06-21", "07-12")
            .bare("03-11", "05-20", "06-30")
            .felt("03-25", 2, 1, 1)
            .felt("04-09", new Story.Felt(3, 3, 4, true, false))
            .felt("04-18", 2, 4, 3)
            .answered(
                "04-21", "review", TaskStatus.COMPLETED, "Too much gardening; go on as eased.")
            .answered("06-01", "approve", TaskStatus.REJECTED, "Two more quiet weeks first.")
            .answered("06-15", "approve", TaskStatus.ACCEPTED, "Quiet since; start on the step.")
            .measured("03-16", "41343-5", "113", "deg", "goniometer")
            .measured("03-30", "comfortable-flexion", "117", "deg", "phone")
            .measured("04-13", "41343-5", "111", "deg", "goniometer")
            .measured("04-27", "comfortable-flexion", "117", "deg", "self-measured")
            .measured("05-11", "41343-5", "2.13", "rad", "inclinometer")
            .measured("05-25", "comfortable-flexion", "126", "deg", "phone")
            .measured("06-08", "41343-5", "129", "deg", "goniometer")
            .measured("06-22", "heel-to-buttock", "4", "[in_i]", "self-measured")
            .measured("07-06", "41343-5", "132", "deg", "goniometer")
            .measured("07-20", "comfortable-flexion", "134", "deg", "phone");
    return new Person(
        id,
        enrolment(
            patient(id, "Ashgrove", "Tobin", AdministrativeGender.MALE, "1966-10-02"),
            baseline,
            equipment,
            List.of(),
            plan(id, KNEE_PROGRAMME, "left", "symptom-free", "within-stage")),
        story.tell());
  }

  /** Kept inside a surgeon's limit until it ends and she is cleared. */
  private static Person saoirse() {
    String id = "saoirse-vantongeren";
    CodeableConcept knee = knee("right");
    Sheet baseline =
        baseline(id, knee)
            .says("comfortable-flexion", Sheet.of("124", "deg"))
            .says("other-side-flexion", Sheet.of("149", "deg"))
            .says("gap", Sheet.of("4.5", "cm"))
            .says("contact", Sheet.yes(false))
            .says("pain-at-rest", Sheet.score(0))
            .says("can-kneel", Sheet.yes(true))
            .says("can-stand-on-one-leg", Sheet.yes(true))
            .says("wall-lunge-distance", Sheet.of("8", "cm"))
            .says("body-height", Sheet.of("1.74", "m"))
            .says("body-weight", Sheet.of("70.5", "kg"));
    Sheet equipment =
        equipment(id)
            .owns("stair-riser", Sheet.of("18", "cm"))
            .owns("stair-count", Sheet.count(10))
            .owns("towel-roll", Sheet.of("5", "cm"))
            .owns("towel-roll", Sheet.of("2", "cm"))
            .owns("block", Sheet.of("10", "cm"))
            .owns("hand-support", Sheet.yes(true));
    Story story =
        new Story(id, knee, 0, true, 37)
            .off("03-18", "04-11", "05-02", "05-23", "06-13", "07-04", "07-25")
            .bare("04-02", "06-24")
            .felt("03-30", 0, 1, 0)
            .felt("07-08", 0, 0, 1)
            .flag("06-08", limit(id, Flag.FlagStatus.INACTIVE, "2026-06-08"))
            .answered("06-10", "approve", TaskStatus.ACCEPTED, "Cleared by the surgeon; go on.")
            .measured("03-16", "41347-6", "126", "deg", "goniometer")
            .measured("03-30", "comfortable-flexion", "129", "deg", "phone")
            .measured("04-13", "41347-6", "131", "deg", "goniometer")
            .measured("04-27", "comfortable-flexion", "2.34", "rad", "phone")
            .measured("05-11", "41347-6", "136", "deg", "goniometer")
            .measured("05-25", "comfortable-flexion", "137", "deg", "self-measured")
            .measured("06-08", "41347-6", "139", "deg", "goniometer")
            .measured("06-22", "heel-to-buttock", "6", "cm", "self-measured")
            .measured("07-06", "41347-6", "142", "deg", "inclinometer")
            .measured("07-20", "comfortable-flexion", "143", "deg", "phone");
    return new Person(
        id,
        enrolment(
            patient(id, "Vantongeren", "Saoirse", AdministrativeGender.FEMALE, "1991-01-27"),
            baseline,
            equipment,
            List.of(limit(id, Flag.FlagStatus.ACTIVE, "2026-05-31")),
            plan(id, KNEE_PROGRAMME, "right", "symptom-free", "within-stage")),
        story.tell());
  }

  /** Starts on the cycle; a swollen calf stops everything until a clinician has looked. */
  private static Person ambrose() {
    String id = "ambrose-kettlewick";
    CodeableConcept knee = knee("left");
    Sheet baseline =
        baseline(id, knee)
            .says("comfortable-flexion", Sheet.of("84", "deg"))
            .says("other-side-flexion", Sheet.of("131", "deg"))
            .says("gap", Sheet.of("16", "cm"))
            .says("contact", Sheet.yes(false))
            .says("pain-at-rest", Sheet.score(1))
            .says("can-kneel", Sheet.yes(false))
            .says("can-stand-on-one-leg", Sheet.yes(false))
            .says("body-height", Sheet.of("176", "cm"))
            .says("body-weight", Sheet.of("93", "kg"));
    Sheet equipment =
        equipment(id)
            .owns("towel-roll", Sheet.of("9", "cm"))
            .owns("towel-roll", Sheet.of("6", "cm"))
            .owns("towel-roll", Sheet.of("3", "cm"))
            .owns("bench", Sheet.of("40", "cm"))
            .owns("bench", Sheet.of("25", "cm"))
            .owns("bench", Sheet.of("12", "cm"))
            .owns("stationary-cycle", Sheet.yes(true))
            .owns("hand-support", Sheet.yes(true));
    Story story =
        new Story(id, knee, 1, true, 41)
            .off("03-14", "03-28", "04-18")
            .bare("03-24")
            .felt("03-19", 2, 1, 1)
            .answered("04-15", "approve", TaskStatus.ACCEPTED, "Gap is down; start the stretches.")
            .warned("05-12", "calf-swelling")
            .offFrom("05-12", "05-29")
            .answered(
                "05-29",
                "review",
                TaskStatus.COMPLETED,
                "Seen the same day; scan clear, swelling gone. May go on.")
            .contactFrom("04-15")
            .measured("03-16", "41343-5", "88", "deg", "goniometer")
            .measured("03-30", "comfortable-flexion", "94", "deg", "phone")
            .measured("04-06", "gap", "13", "cm", "goniometer")
            .measured("04-13", "41343-5", "101", "deg", "goniometer")
            .measured("04-27", "comfortable-flexion", "1.85", "rad", "phone")
            .measured("05-11", "41343-5", "110", "deg", "goniometer")
            .measured("05-11", "gap", "8", "cm", "goniometer")
            .measured("06-08", "comfortable-flexion", "113", "deg", "self-measured")
            .measured("06-22", "41343-5", "118", "deg", "goniometer")
            .measured("07-06", "comfortable-flexion", "122", "deg", "phone")
            .measured("07-20", "41343-5", "125", "deg", "inclinometer");
    return new Person(
        id,
        enrolment(
            patient(id, "Kettlewick", "Ambrose", AdministrativeGender.MALE, "1958-07-08"),
            baseline,
            equipment,
            List.of(),
            plan(id, KNEE_PROGRAMME, "left", "symptom-free", "within-stage")),
        story.tell());
  }

  /** The second programme: heel raises three times a week, each change signed off. */
  private static Person yusra() {
    String id = "yusra-delmarsh";
    CodeableConcept ankle = site(ANKLE, "Ankle region structure", "ankle", "right");
    Sheet baseline =
        baseline(id, ankle)
            .says("pain-at-rest", Sheet.score(1))
            .says("can-stand-on-one-leg", Sheet.yes(true))
            .says("wall-lunge-distance", Sheet.of("4", "[in_i]"))
            .says("body-height", Sheet.of("162", "cm"))
            .says("body-weight", Sheet.of("131", "[lb_av]"));
    Sheet equipment =
        equipment(id)
            .owns("stair-riser", Sheet.of("16", "cm"))
            .owns("stair-count", Sheet.count(8))
            .owns("book", Sheet.of("4", "cm"))
            .owns("block", Sheet.of("10", "cm"))
            .owns("dumbbell-pair", Sheet.of("5", "[lb_av]"))
            .owns("dumbbell-pair", Sheet.of("8", "[lb_av]"))
            .owns("hand-support", Sheet.yes(true));
    Story story =
        new Story(id, ankle, 1, false, 53)
            .on(MONDAY, WEDNESDAY, FRIDAY)
            .named("03-02", "08-02", "standing-heel-raise")
            .felt("04-15", 3, 2, 1)
            .measured("03-17", "wall-lunge-distance", "10.5", "cm", "self-measured")
            .measured("03-31", "wall-lunge-distance", "4.25", "[in_i]", "self-measured")
            .measured("04-14", "wall-lunge-distance", "11", "cm", "goniometer")
            .measured("04-28", "wall-lunge-distance", "11.2", "cm", "self-measured")
            .measured("05-12", "wall-lunge-distance", "4.5", "[in_i]", "self-measured")
            .measured("05-26", "wall-lunge-distance", "11.5", "cm", "self-measured")
            .measured("06-09", "wall-lunge-distance", "11.5", "cm", "goniometer")
            .measured("06-23", "wall-lunge-distance", "11.8", "cm", "self-measured")
            .measured("07-07", "wall-lunge-distance", "12", "cm", "self-measured")
            .measured("07-21", "wall-lunge-distance", "12", "cm", "goniometer");
    return new Person(
        id,
        enrolment(
            patient(id, "Delmarsh", "Yusra", AdministrativeGender.FEMALE, "1984-12-19"),
            baseline,
            equipment,
            List.of(),
            plan(id, "standing-heel-raise|1.0.0", "right", "pain-monitored", "within-stage")),
        story.tell());
  }

  private static Flag limit(String person, Flag.FlagStatus status, String end) {
    Flag flag = new Flag();
    flag.setId(person + "-limit");
    flag.setStatus(status);
    flag.addCategory(
        Codes.concept("http://terminology.hl7.org/CodeSystem/flag-category", "safety", null));
    flag.setCode(
        new CodeableConcept()
            .setText("No bending past 90° under load until the meniscus repair is cleared"));
    flag.setSubject(new Reference("Patient/" + person));
    flag.setAuthor(new Reference("Practitioner/" + SURGEON));
    Period period = new Period();
    period.setStartElement(new org.hl7.fhir.r4.model.DateTimeType("2026-02-16"));
    period.setEndElement(new org.hl7.fhir.r4.model.DateTimeType(end));
    flag.setPeriod(period);
    Extension limit = flag.addExtension();
    limit.setUrl(Codes.LIMIT);
    limit.addExtension(new Extension("applies-to", new CodeType("loaded")));
    limit.addExtension(new Extension("variable", new CodeType("knee-flexion")));
    limit.addExtension(new Extension("most", Sheet.of("90", "deg")));
    limit.addExtension(new Extension("needs-clearance", Sheet.yes(true)));
    limit.addExtension(new Extension("side", new CodeType("right")));
    return flag;
  }

  private static Sheet baseline(String person, CodeableConcept bodySite) {
    return new Sheet(person + "-baseline", "exam", "baseline")
        .about(person, bodySite)
        .at(Story.time(Story.FIRST_DAY, LocalTime.of(9, 30)));
  }

  private static Sheet equipment(String person) {
    return new Sheet(person + "-equipment", "survey", "home-equipment")
        .about(person, null)
        .at(Story.time(Story.FIRST_DAY, LocalTime.of(9, 20)));
  }

  private static CarePlan plan(
      String person, String programme, String side, String policy, String control) {
    CarePlan plan = new CarePlan();
    plan.setId(person + "-plan");
    plan.setStatus(CarePlan.CarePlanStatus.ACTIVE);
    plan.setIntent(CarePlan.CarePlanIntent.PLAN);
    plan.addInstantiatesCanonical(Codes.BASE + "/PlanDefinition/" + programme);
    plan.setSubject(new Reference("Patient/" + person));
    plan.setAuthor(new Reference("Practitioner/" + THERAPIST));
    plan.addExtension(new Extension(Codes.SIDE, new CodeType(side)));
    plan.addExtension(new Extension(Codes.RESPONSE_POLICY, new CodeType(policy)));
    plan.addExtension(new Extension(Codes.CHANGE_CONTROL, new CodeType(control)));
    Period period = new Period();
    period.setStartElement(
        new org.hl7.fhir.r4.model.DateTimeType(Story.time(Story.FIRST_DAY, LocalTime.of(10, 0))));
    plan.setPeriod(period);
    return plan;
  }

  private static Patient patient(
      String id, String family, String given, AdministrativeGender gender, String birthDate) {
    Patient patient = new Patient();
    patient.setId(id);
    patient.addIdentifier().setSystem("https://marram-lane.example/mrn").setValue(id);
    patient.addName().setFamily(family).addGiven(given);
    patient.setGender(gender);
    patient.setBirthDateElement(new DateType(birthDate));
    patient.setManagingOrganization(new Reference("Organization/" + CLINIC));
    patient.addGeneralPractitioner(new Reference("Practitioner/" + THERAPIST));
    return patient;
  }

  private static Practitioner practitioner(String id, String family, String given) {
    Practitioner practitioner = new Practitioner();
    practitioner.setId(id);
    practitioner.addName().setFamily(family).addGiven(given);
    return practitioner;
  }

  private static PractitionerRole role(String practitioner, String what) {
    PractitionerRole role = new PractitionerRole();
    role.setId(practitioner + "-role");
    role.setPractitioner(new Reference("Practitioner/" + practitioner));
    role.setOrganization(new Reference("Organization/" + CLINIC));
    role.addCode().setText(what);
    return role;
  }

  private static CodeableConcept knee(String side) {
    return site(Codes.SNOMED_KNEE, "Knee region structure", "knee", side);
  }

  private static CodeableConcept site(String region, String display, String word, String side) {
    boolean left = side.equals("left");
    return new CodeableConcept()
        .addCoding(new Coding(Codes.SNOMED, region, display))
        .addCoding(
            new Coding(
                Codes.SNOMED,
                left ? Codes.SNOMED_LEFT : Codes.SNOMED_RIGHT,
                left ? "Left" : "Right"))
        .setText(side + " " + word);
  }

  private static Bundle enrolment(
      Patient patient, Sheet baseline, Sheet equipment, List<Flag> limits, CarePlan plan) {
    List<Resource> all = new ArrayList<>(List.of(patient, baseline.done(), equipment.done()));
    all.addAll(limits);
    all.add(plan);
    return transaction(all);
  }

  private static Bundle transaction(List<Resource> resources) {
    Bundle bundle = new Bundle();
    bundle.setType(Bundle.BundleType.TRANSACTION);
    for (Resource resource : resources) {
      String name = resource.fhirType() + "/" + resource.getIdElement().getIdPart();
      bundle
          .addEntry()
          .setFullUrl(DemoBundles.fullUrl(resource))
          .setResource(resource)
          .getRequest()
          .setMethod(Bundle.HTTPVerb.PUT)
          .setUrl(name);
    }
    return bundle;
  }
}

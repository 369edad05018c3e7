package org.tidemark.application;

import jakarta.enterprise.context.ApplicationScoped;
import java.nio.charset.StandardCharsets;
import java.util.ArrayList;
import java.util.Comparator;
import java.util.EnumSet;
import java.util.HashSet;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.OptionalLong;
import java.util.Set;
import java.util.UUID;
import java.util.regex.Pattern;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.Enumerations.PublicationStatus;
import org.hl7.fhir.r4.model.Observation;
import org.hl7.fhir.r4.model.Observation.ObservationStatus;
import org.hl7.fhir.r4.model.Questionnaire;
import org.hl7.fhir.r4.model.QuestionnaireResponse;
import org.hl7.fhir.r4.model.QuestionnaireResponse.QuestionnaireResponseStatus;
import org.hl7.fhir.r4.model.Reference;
import org.tidemark.application.PlanEngine.Touched;
import org.tidemark.fhir.Codes;
import org.tidemark.fhir.FormObservation;
import org.tidemark.fhir.FormReader;
import org.tidemark.fhir.Problem;
import org.tidemark.fhir.References;

/**
 * Takes filled-in forms in: a completed QuestionnaireResponse becomes Observations, which are
 * stored and decided on with it. An Observation keeps its id when the form is sent again, under its
 * own id or with the same identifier, so that it is put right and not doubled. What the form says
 * no more, or no longer stands by, is kept as entered in error.
 */
@ApplicationScoped
public class Forms {
  private static final Set<QuestionnaireResponseStatus> EXTRACTED =
      EnumSet.of(QuestionnaireResponseStatus.COMPLETED, QuestionnaireResponseStatus.AMENDED);

  private static final Set<PublicationStatus> ANSWERABLE =
      EnumSet.of(PublicationStatus.ACTIVE, PublicationStatus.RETIRED);

  /** What FHIR's search syntax gives a meaning to in a value. */
  private static final Pattern SEPARATORS = Pattern.compile("[\\\\,$|]");

  private final Records records;
  private final References references;
  private final Reports reports;
  private final Guard guard;

  Forms(Records records, References references, Reports reports, Guard guard) {
    this.guard = guard;
    this.records = records;
    this.references = references;
    this.reports = reports;
  }

  private record Extracted(FormObservation from, Observation observation) {}

  /** Refuses a completed form whose answers cannot be taken. */
  void admit(QuestionnaireResponse form) {
    judge(extractedFor(form));
  }

  /** Judges the Observations of a form as if each were sent by itself, and tells every fault. */
  private void judge(List<Extracted> all) {
    List<Problem> problems = new ArrayList<>();
    for (Extracted extracted : all) {
      try {
        reports.admit(extracted.observation(), standing(extracted));
      } catch (Problem problem) {
        problems.add(extracted.from().inForm(problem));
      }
    }
    if (!problems.isEmpty()) {
      throw Problem.all(problems);
    }
  }

  /** Stores what a form says, and takes it into every plan that it belongs to. */
  void follow(QuestionnaireResponse form, Optional<QuestionnaireResponse> former, Touched touched) {
    Set<String> said = new HashSet<>();
    for (Extracted extracted : extractedFor(form)) {
      said.add(extracted.observation().getIdPart());
      Optional<Observation> standing = standing(extracted);
      if (standing.filter(before -> stays(before, extracted, form, former)).isEmpty()) {
        Observation written = (Observation) records.put(extracted.observation());
        follow(extracted, written, standing, touched);
      }
    }
    for (QuestionnaireResponse sending : sendings(form)) {
      withdraw(sending, said, touched);
    }
  }

  /** Marks as entered in error what came from a form and is said no more. */
  private void withdraw(QuestionnaireResponse form, Set<String> said, Touched touched) {
    Map<String, String> ofForm = Map.of("derived-from", reference(form));
    for (Observation before : records.list(Observation.class, ofForm)) {
      if (!said.contains(before.getIdPart()) && !isWithdrawn(before)) {
        Observation now = before.copy().setStatus(ObservationStatus.ENTEREDINERROR);
        reports.follow((Observation) records.put(now), Optional.of(before), touched);
      }
    }
  }

  /** A completed form takes the place of what was sent before with its identifier. */
  private List<QuestionnaireResponse> sendings(QuestionnaireResponse form) {
    if (!form.getIdentifier().hasValue() || !EXTRACTED.contains(form.getStatus())) {
      return List.of(form);
    }
    List<QuestionnaireResponse> all = new ArrayList<>(List.of(form));
    Map<String, String> alike =
        Map.of(
            "identifier", SEPARATORS.matcher(form.getIdentifier().getValue()).replaceAll("\\\\$0"));
    records.list(QuestionnaireResponse.class, alike).stream()
        .filter(other -> !other.getIdPart().equals(form.getIdPart()))
        .filter(other -> identity(other).equals(identity(form)))
        .forEach(all::add);
    return all;
  }

  private void follow(
      Extracted extracted, Observation written, Optional<Observation> former, Touched touched) {
    try {
      reports.follow(written, former, touched);
    } catch (Problem problem) {
      throw extracted.from().inForm(problem);
    }
  }

  /**
   * Whether what stands needs no new version: the answers are the same and come from the same form.
   * What somebody has marked as entered in error stays so until the answers change; what was
   * withdrawn with its form stands again with it.
   */
  private boolean stays(
      Observation standing,
      Extracted extracted,
      QuestionnaireResponse form,
      Optional<QuestionnaireResponse> former) {
    if (!isSame(standing, extracted.observation())) {
      return false;
    }
    String source = standing.getDerivedFromFirstRep().getReference();
    boolean ofThis = reference(form).equals(source);
    if (!isWithdrawn(standing)) {
      return ofThis;
    }
    Optional<QuestionnaireResponse> before =
        ofThis
            ? former
            : records
                .find(standing.getDerivedFromFirstRep())
                .filter(QuestionnaireResponse.class::isInstance)
                .map(QuestionnaireResponse.class::cast);
    return before.filter(known -> EXTRACTED.contains(known.getStatus())).isPresent();
  }

  private static boolean isWithdrawn(Observation observation) {
    return observation.getStatus() == ObservationStatus.ENTEREDINERROR;
  }

  /**
   * The Observations of a stored form, as a transaction that is not carried out.
   *
   * @param id the form's id
   * @return a transaction Bundle
   * @throws Problem when there is no such form, or its answers cannot be taken
   */
  public Bundle extract(String id) {
    QuestionnaireResponse form =
        records
            .read("QuestionnaireResponse", id, OptionalLong.empty())
            .map(QuestionnaireResponse.class::cast)
            .orElseThrow(() -> records.absent(Address.of("QuestionnaireResponse", id)));
    return extract(form, Optional.empty());
  }

  /**
   * The Observations of a form, as a transaction that is not carried out. They have ids of their
   * own, and say what they are derived from, when the form has an id or an identifier.
   *
   * @param form the answers
   * @param questions the form that they answer, when the client brings it
   * @return a transaction Bundle
   * @throws Problem when the form is not known here or not completed, or when its answers cannot be
   *     taken
   */
  public Bundle extract(QuestionnaireResponse form, Optional<Questionnaire> questions) {
    guard.requireAllAbout(references.normal(form.getSubject().getReference()), "Observation");
    if (!EXTRACTED.contains(form.getStatus())) {
      throw Problem.of(
          Problem.Kind.BUSINESS_RULE,
          "Only a form that is completed or amended is extracted.",
          "QuestionnaireResponse.status");
    }
    Questionnaire asked = questions.or(() -> questions(form)).orElseThrow(() -> unknown(form));
    Bundle bundle = new Bundle().setType(Bundle.BundleType.TRANSACTION);
    List<Extracted> all = extracted(asked, form);
    judge(all);
    all.forEach(extracted -> add(bundle, extracted.observation()));
    return bundle;
  }

  private void add(Bundle bundle, Observation observation) {
    Bundle.BundleEntryComponent entry = bundle.addEntry().setResource(observation);
    if (observation.getIdPart() == null) {
      entry.setFullUrl("urn:uuid:" + UUID.randomUUID());
      entry.getRequest().setMethod(Bundle.HTTPVerb.POST).setUrl("Observation");
    } else {
      String address = "Observation/" + observation.getIdPart();
      entry.setFullUrl(references.base() + address);
      entry.getRequest().setMethod(Bundle.HTTPVerb.PUT).setUrl(address);
    }
  }

  /** What a form that is sent to be kept says; nothing when it is not completed. */
  private List<Extracted> extractedFor(QuestionnaireResponse form) {
    if (!EXTRACTED.contains(form.getStatus())) {
      return List.of();
    }
    Optional<Questionnaire> questions = questions(form);
    if (questions.isEmpty() && canonical(form).startsWith(Codes.BASE + "/")) {
      throw unknown(form);
    }
    return questions
        .filter(FormReader::isExtracted)
        .map(asked -> extracted(asked, form))
        .orElse(List.of());
  }

  private List<Extracted> extracted(Questionnaire questions, QuestionnaireResponse form) {
    List<Extracted> all = new ArrayList<>();
    for (FormObservation from : FormReader.read(questions, form)) {
      Observation observation = from.observation().copy();
      identity(form)
          .ifPresent(identity -> observation.setId("Observation/" + id(identity, from.key())));
      if (form.getIdPart() != null) {
        observation.addDerivedFrom(new Reference(reference(form)));
      } else if (form.hasIdentifier()) {
        observation.addDerivedFrom(
            new Reference()
                .setType("QuestionnaireResponse")
                .setIdentifier(form.getIdentifier().copy()));
      }
      Extracted extracted = new Extracted(from, observation);
      standing(extracted).ifPresent(before -> observation.setStatus(next(before, observation)));
      all.add(extracted);
    }
    return all;
  }

  private static String reference(QuestionnaireResponse form) {
    return "QuestionnaireResponse/" + form.getIdPart();
  }

  /** What makes two sendings the same form: its identifier for that person, or its id. */
  private Optional<String> identity(QuestionnaireResponse form) {
    if (form.getIdentifier().hasValue()) {
      return Optional.of(
          String.join(
              "|",
              references.normal(form.getSubject().getReference()),
              String.valueOf(form.getIdentifier().getSystem()),
              form.getIdentifier().getValue()));
    }
    return Optional.ofNullable(form.getIdPart()).map(id -> reference(form));
  }

  private static String id(String identity, String key) {
    byte[] name = (identity + "#" + key).getBytes(StandardCharsets.UTF_8);
    return UUID.nameUUIDFromBytes(name).toString();
  }

  private Optional<Observation> standing(Extracted extracted) {
    return Optional.ofNullable(extracted.observation().getIdPart())
        .flatMap(id -> records.find(Observation.class, id));
  }

  private static ObservationStatus next(Observation standing, Observation said) {
    return isSame(standing, said) && !isWithdrawn(standing)
        ? standing.getStatus()
        : ObservationStatus.AMENDED;
  }

  /** Whether the form says what stands already. */
  private static boolean isSame(Observation standing, Observation said) {
    return bare(standing).equalsDeep(bare(said));
  }

  private static Observation bare(Observation observation) {
    Observation bare = observation.copy();
    bare.setStatus(null).setDerivedFrom(null).setMeta(null).setId("");
    return bare;
  }

  /** The form that is answered, when it is here; without a version the newest active one. */
  private Optional<Questionnaire> questions(QuestionnaireResponse form) {
    String canonical = canonical(form);
    if (canonical.isBlank()) {
      return Optional.empty();
    }
    int bar = canonical.indexOf('|');
    String url = bar < 0 ? canonical : canonical.substring(0, bar);
    String version = bar < 0 ? "" : canonical.substring(bar + 1);
    return records.list(Questionnaire.class, Map.of("url", url)).stream()
        .filter(found -> ANSWERABLE.contains(found.getStatus()))
        .filter(found -> version.isBlank() || version.equals(found.getVersion()))
        .sorted(Comparator.comparing(found -> found.getStatus() == PublicationStatus.ACTIVE))
        .reduce((older, newer) -> newer);
  }

  private static String canonical(QuestionnaireResponse form) {
    return form.hasQuestionnaire() ? form.getQuestionnaire() : "";
  }

  private static Problem unknown(QuestionnaireResponse form) {
    return canonical(form).isBlank()
        ? Problem.of(
            Problem.Kind.MISSING,
            "The form that is answered is needed.",
            "QuestionnaireResponse.questionnaire")
        : Problem.of(
            Problem.Kind.UNKNOWN_REFERENCE,
            "There is no Questionnaire " + canonical(form) + " here.",
            "QuestionnaireResponse.questionnaire");
  }
}

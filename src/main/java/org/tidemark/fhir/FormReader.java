package org.tidemark.fhir;

import ca.uhn.fhir.model.api.TemporalPrecisionEnum;
import java.util.ArrayList;
import java.util.HashMap;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.regex.Matcher;
import java.util.regex.Pattern;
import org.hl7.fhir.r4.model.BooleanType;
import org.hl7.fhir.r4.model.CodeType;
import org.hl7.fhir.r4.model.CodeableConcept;
import org.hl7.fhir.r4.model.Coding;
import org.hl7.fhir.r4.model.DateTimeType;
import org.hl7.fhir.r4.model.DateType;
import org.hl7.fhir.r4.model.Extension;
import org.hl7.fhir.r4.model.IntegerType;
import org.hl7.fhir.r4.model.Observation;
import org.hl7.fhir.r4.model.Quantity;
import org.hl7.fhir.r4.model.Questionnaire;
import org.hl7.fhir.r4.model.Questionnaire.QuestionnaireItemComponent;
import org.hl7.fhir.r4.model.Questionnaire.QuestionnaireItemType;
import org.hl7.fhir.r4.model.QuestionnaireResponse;
import org.hl7.fhir.r4.model.QuestionnaireResponse.QuestionnaireResponseItemAnswerComponent;
import org.hl7.fhir.r4.model.QuestionnaireResponse.QuestionnaireResponseItemComponent;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.StringType;
import org.hl7.fhir.r4.model.TimeType;
import org.hl7.fhir.r4.model.Type;
import org.tidemark.fhir.FormObservation.Draft;
import org.tidemark.fhir.FormObservation.Origin;

/**
 * Completed forms as Observations, by the observation-based extraction of HL7's Structured Data
 * Capture 4.0.0 (hl7.org/fhir/uv/sdc, page "Form Data Extraction"). What is extracted is said by
 * the Questionnaire alone:
 *
 * <ul>
 *   <li>{@code sdc-questionnaire-observationExtract} {@code true} on an item with codes makes an
 *       Observation of each answer, or of the group; it holds for all that is inside until an item
 *       says otherwise. {@code component} makes a component of the Observation around it. On some
 *       of the codes of an item, it chooses these.
 *   <li>{@code sdc-questionnaire-observation-extract-category} gives the category, and {@code
 *       questionnaire-unit} the unit of a plain number.
 *   <li>A question that is not extracted itself, and whose {@code definition} is {@code bodySite},
 *       {@code method} or {@code effective[x]} of an Observation, says so for every Observation
 *       that stands in the same group or further inside; SDC lets the definition-based mechanism
 *       stand beside this one.
 * </ul>
 *
 * <p>An Observation with neither value nor component is not made.
 */
public final class FormReader {
  private static final String SDC = "http://hl7.org/fhir/uv/sdc/StructureDefinition/";
  private static final String EXTRACT = SDC + "sdc-questionnaire-observationExtract";
  private static final String CATEGORY = SDC + "sdc-questionnaire-observation-extract-category";
  private static final String UNIT = "http://hl7.org/fhir/StructureDefinition/questionnaire-unit";
  private static final Pattern ELEMENT =
      Pattern.compile(".+#Observation\\.(bodySite|method|effective)(?:\\[x]|DateTime)?");
  private static final String ROOT = "QuestionnaireResponse";

  private final QuestionnaireResponse form;
  private final Findings findings = new Findings();
  private final List<Draft> drafts = new ArrayList<>();
  private final Map<String, Integer> occurrences = new HashMap<>();

  private enum Mark {
    NONE,
    EXTRACTED,
    COMPONENT,
    EXCLUDED
  }

  private record Answered(Type value, Origin origin) {}

  /**
   * What holds for the items of one level.
   *
   * @param marked whether items with codes are extracted without a mark of their own
   * @param parent the Observation that components belong to, or null
   */
  private record Scope(
      boolean marked,
      List<CodeableConcept> categories,
      Map<String, Answered> elements,
      Draft parent) {

    Scope with(boolean nowMarked, List<CodeableConcept> own, Draft nowParent) {
      return new Scope(nowMarked, own.isEmpty() ? categories : own, elements, nowParent);
    }

    Scope with(Map<String, Answered> own) {
      Map<String, Answered> all = new LinkedHashMap<>(elements);
      all.putAll(own);
      return new Scope(marked, categories, all, parent);
    }
  }

  private FormReader(QuestionnaireResponse form) {
    this.form = form;
  }

  /**
   * Whether anything is extracted from answers to a form.
   *
   * @param questions the form
   */
  public static boolean isExtracted(Questionnaire questions) {
    return questions.hasExtension(EXTRACT)
        || questions.getItem().stream().anyMatch(FormReader::isExtracted);
  }

  private static boolean isExtracted(QuestionnaireItemComponent item) {
    return item.hasExtension(EXTRACT)
        || item.getCode().stream().anyMatch(code -> code.hasExtension(EXTRACT))
        || item.getItem().stream().anyMatch(FormReader::isExtracted);
  }

  /**
   * Extracts the Observations of a completed form.
   *
   * @param questions the form
   * @param form the answers
   * @return the Observations, in the order of the answers
   * @throws Problem when the answers do not fit the questions, with every fault, its item and its
   *     FHIRPath; or when the form asks for an extraction that is not known here
   */
  public static List<FormObservation> read(Questionnaire questions, QuestionnaireResponse form) {
    return new FormReader(form).read(questions);
  }

  private List<FormObservation> read(Questionnaire questions) {
    requireRoot();
    new FormCheck(findings).check(questions.getItem(), form.getItem(), ROOT);
    findings.check();
    boolean marked =
        mark(questions.getExtensionByUrl(EXTRACT), "")
            .filter(mark -> mark == Mark.EXTRACTED)
            .isPresent();
    Scope root =
        new Scope(marked, categories(questions.getExtensionsByUrl(CATEGORY)), Map.of(), null);
    walk(questions.getItem(), form.getItem(), ROOT, root);
    findings.check();
    return drafts.stream().filter(Draft::saysSomething).map(Draft::done).toList();
  }

  private void requireRoot() {
    if (!form.getSubject().hasReference() && !form.getSubject().hasIdentifier()) {
      findings.refuse(Problem.Kind.MISSING, "The person is needed.", ROOT + ".subject");
    }
    if (!form.hasAuthored()) {
      findings.refuse(
          Problem.Kind.MISSING,
          "The time when the form was filled in is needed.",
          ROOT + ".authored");
    }
  }

  private void walk(
      List<QuestionnaireItemComponent> questions,
      List<QuestionnaireResponseItemComponent> given,
      String path,
      Scope around) {
    Scope scope = around.with(elements(questions, given, path));
    for (int i = 0; i < given.size(); i++) {
      QuestionnaireResponseItemComponent item = given.get(i);
      String at = path + ".item[" + i + "]";
      QuestionnaireItemComponent question =
          FormCheck.find(questions, item.getLinkId()).orElseThrow();
      Optional<Mark> own = itemMark(question);
      boolean inherits = scope.marked() && question.hasCode() && element(question).isEmpty();
      Mark mark = own.orElse(inherits ? Mark.EXTRACTED : Mark.NONE);
      if (mark == Mark.EXCLUDED) {
        continue;
      }
      boolean marked = own.map(said -> said == Mark.EXTRACTED).orElse(scope.marked());
      Scope inner =
          scope.with(marked, categories(question.getExtensionsByUrl(CATEGORY)), scope.parent());
      if (question.getType() == QuestionnaireItemType.GROUP) {
        group(question, item, at, mark, inner);
      } else {
        answers(question, item, at, mark, inner);
      }
    }
  }

  private void group(
      QuestionnaireItemComponent question,
      QuestionnaireResponseItemComponent item,
      String path,
      Mark mark,
      Scope scope) {
    Draft parent =
        mark == Mark.EXTRACTED && question.hasCode()
            ? draft(question, new Origin(Optional.of(question.getLinkId()), path), scope)
            : scope.parent();
    walk(question.getItem(), item.getItem(), path, scope.with(scope.marked(), List.of(), parent));
  }

  private void answers(
      QuestionnaireItemComponent question,
      QuestionnaireResponseItemComponent item,
      String path,
      Mark mark,
      Scope scope) {
    for (int i = 0; i < item.getAnswer().size(); i++) {
      QuestionnaireResponseItemAnswerComponent answer = item.getAnswer().get(i);
      String at = path + ".answer[" + i + "]";
      Draft parent = scope.parent();
      Optional<Type> value =
          mark == Mark.NONE || !FormCheck.hasValue(answer)
              ? Optional.empty()
              : value(question, answer.getValue(), at + ".value");
      if (value.isPresent()) {
        Origin origin = new Origin(Optional.of(question.getLinkId()), at + ".value");
        parent =
            mark == Mark.COMPONENT
                ? component(question, value.get(), origin, parent)
                : alone(question, value.get(), origin, scope);
      }
      walk(question.getItem(), answer.getItem(), at, scope.with(scope.marked(), List.of(), parent));
    }
  }

  private Draft alone(QuestionnaireItemComponent question, Type value, Origin origin, Scope scope) {
    Draft draft = draft(question, origin, scope);
    draft.observation().setValue(value);
    return draft;
  }

  private Draft component(
      QuestionnaireItemComponent question, Type value, Origin origin, Draft parent) {
    if (parent == null) {
      throw asks(
          question.getLinkId(), "it is to be a component, but nothing around it is extracted.");
    }
    int index = parent.observation().getComponent().size();
    parent.observation().addComponent().setCode(code(question)).setValue(value);
    return parent.from("Observation.component[" + index + "]", origin);
  }

  private Draft draft(QuestionnaireItemComponent question, Origin origin, Scope scope) {
    Observation observation = new Observation();
    observation.setStatus(Observation.ObservationStatus.FINAL);
    scope.categories().forEach(category -> observation.addCategory(category.copy()));
    observation.setCode(code(question));
    observation.setSubject(form.getSubject().copy());
    observation.setEffective(new DateTimeType(form.getAuthoredElement().getValueAsString()));
    if (form.hasEncounter()) {
      observation.setEncounter(form.getEncounter().copy());
    }
    boolean toTheSecond =
        form.getAuthoredElement().getPrecision().ordinal()
            >= TemporalPrecisionEnum.SECOND.ordinal();
    if (toTheSecond) {
      observation.getIssuedElement().setValueAsString(form.getAuthoredElement().getValueAsString());
    }
    if (form.hasAuthor() && !isOf(form.getAuthor(), "Device")) {
      observation.addPerformer(form.getAuthor().copy());
    }
    form.getPartOf().stream()
        .filter(part -> isOf(part, "Procedure"))
        .forEach(part -> observation.addPartOf(part.copy()));
    String linkId = question.getLinkId();
    int occurrence = occurrences.merge(linkId, 1, Integer::sum);
    Draft draft =
        new Draft(observation, linkId + "/" + occurrence, origin)
            .from("Observation.subject", new Origin(Optional.empty(), ROOT + ".subject"))
            .from("Observation.effective", new Origin(Optional.empty(), ROOT + ".authored"))
            .from("Observation.issued", new Origin(Optional.empty(), ROOT + ".authored"));
    for (int i = 0; i < form.getBasedOn().size(); i++) {
      observation.addBasedOn(form.getBasedOn().get(i).copy());
      draft.from(
          "Observation.basedOn[" + i + "]",
          new Origin(Optional.empty(), ROOT + ".basedOn[" + i + "]"));
    }
    scope.elements().forEach((element, answered) -> put(draft, element, answered));
    drafts.add(draft);
    return draft;
  }

  private static boolean isOf(Reference reference, String type) {
    return type.equals(reference.getType())
        || (reference.hasReference() && reference.getReference().matches("(.*/)?" + type + "/.+"));
  }

  private static void put(Draft draft, String element, Answered answered) {
    Observation observation = draft.observation();
    draft.from("Observation." + element, answered.origin());
    switch (element) {
      case "bodySite" -> observation.setBodySite(concept(answered.value()));
      case "method" -> observation.setMethod(concept(answered.value()));
      default -> observation.setEffective(new DateTimeType(answered.value().primitiveValue()));
    }
  }

  private static CodeableConcept concept(Type value) {
    return value instanceof Coding coding
        ? new CodeableConcept().addCoding(coding.copy()).setText(coding.getDisplay())
        : new CodeableConcept().setText(value.primitiveValue());
  }

  /** What the questions of one level say about every Observation of that level and below. */
  private Map<String, Answered> elements(
      List<QuestionnaireItemComponent> questions,
      List<QuestionnaireResponseItemComponent> given,
      String path) {
    Map<String, Answered> elements = new LinkedHashMap<>();
    for (int i = 0; i < given.size(); i++) {
      QuestionnaireItemComponent question =
          FormCheck.find(questions, given.get(i).getLinkId()).orElseThrow();
      Optional<String> element = element(question);
      if (element.isEmpty() || given.get(i).getAnswer().stream().noneMatch(FormCheck::hasValue)) {
        continue;
      }
      Type value = given.get(i).getAnswerFirstRep().getValue();
      String at = path + ".item[" + i + "].answer[0].value";
      boolean time = value instanceof DateTimeType || value instanceof DateType;
      boolean coded = value instanceof Coding || value instanceof StringType;
      if (element.get().equals("effective") ? !time : !coded) {
        throw asks(
            question.getLinkId(),
            "a " + value.fhirType() + " cannot be the " + element.get() + " of an Observation.");
      }
      elements.put(
          element.get(), new Answered(value, new Origin(Optional.of(question.getLinkId()), at)));
    }
    return elements;
  }

  /** The element of Observation that an item defines, where it is not extracted itself. */
  private static Optional<String> element(QuestionnaireItemComponent question) {
    Matcher definition = ELEMENT.matcher(question.hasDefinition() ? question.getDefinition() : "");
    return definition.matches() && itemMark(question).isEmpty()
        ? Optional.of(definition.group(1))
        : Optional.empty();
  }

  private Optional<Type> value(QuestionnaireItemComponent question, Type answer, String path) {
    Coding unit =
        question.hasExtension(UNIT)
            ? (Coding) question.getExtensionByUrl(UNIT).getValue()
            : new Coding();
    boolean counts = answer instanceof IntegerType && unit.isEmpty();
    if (FormCheck.number(answer).isPresent() && !counts) {
      return Optional.of(
          new Quantity()
              .setValue(FormCheck.number(answer).get())
              .setUnit(unit.hasDisplay() ? unit.getDisplay() : unit.getCode())
              .setSystem(unit.getSystem())
              .setCode(unit.getCode()));
    }
    if (answer instanceof Coding) {
      return Optional.of(concept(answer));
    }
    if (answer instanceof DateType day) {
      return Optional.of(new DateTimeType(day.getValueAsString()));
    }
    boolean possible =
        answer instanceof IntegerType
            || answer instanceof BooleanType
            || answer instanceof Quantity
            || answer instanceof StringType
            || answer instanceof DateTimeType
            || answer instanceof TimeType;
    if (!possible) {
      findings.refuse(
          Problem.Kind.UNSUPPORTED,
          FormCheck.about(
              question.getLinkId(), "an Observation cannot hold a " + answer.fhirType() + "."),
          path);
      return Optional.empty();
    }
    return Optional.of(answer.copy());
  }

  /** The codes of an item: those that are marked where some are, else all but those left out. */
  private static CodeableConcept code(QuestionnaireItemComponent question) {
    boolean chosen = question.getCode().stream().anyMatch(code -> isChosen(code, question));
    CodeableConcept concept = new CodeableConcept();
    for (Coding code : question.getCode()) {
      if (chosen ? isChosen(code, question) : !code.hasExtension(EXTRACT)) {
        concept.addCoding(
            new Coding(code.getSystem(), code.getCode(), code.getDisplay())
                .setVersion(code.getVersion()));
      }
    }
    return concept;
  }

  private static boolean isChosen(Coding code, QuestionnaireItemComponent question) {
    return mark(code.getExtensionByUrl(EXTRACT), question.getLinkId())
        .filter(mark -> mark != Mark.EXCLUDED)
        .isPresent();
  }

  /** What an item says of itself, by its own mark or by those of its codes. */
  private static Optional<Mark> itemMark(QuestionnaireItemComponent question) {
    return mark(question.getExtensionByUrl(EXTRACT), question.getLinkId())
        .or(
            () ->
                question.getCode().stream()
                    .filter(code -> isChosen(code, question))
                    .findFirst()
                    .flatMap(code -> mark(code.getExtensionByUrl(EXTRACT), question.getLinkId())));
  }

  private static Optional<Mark> mark(Extension extension, String linkId) {
    if (extension == null) {
      return Optional.empty();
    }
    if (extension.getValue() instanceof BooleanType extract) {
      return Optional.of(extract.booleanValue() ? Mark.EXTRACTED : Mark.EXCLUDED);
    }
    if (extension.getValue() instanceof CodeType code && "component".equals(code.getValue())) {
      return Optional.of(Mark.COMPONENT);
    }
    throw asks(linkId, "only true, false and component are extracted here.");
  }

  /** A form that cannot be extracted as it asks. */
  private static Problem asks(String linkId, String sentence) {
    return Problem.of(
        Problem.Kind.UNSUPPORTED,
        FormCheck.about(linkId, sentence),
        "Questionnaire.descendants().where(linkId='" + linkId + "')");
  }

  private static List<CodeableConcept> categories(List<Extension> extensions) {
    return extensions.stream()
        .map(Extension::getValue)
        .filter(CodeableConcept.class::isInstance)
        .map(CodeableConcept.class::cast)
        .toList();
  }
}

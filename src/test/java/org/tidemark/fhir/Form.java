package org.tidemark.fhir;

import java.util.List;
import org.hl7.fhir.r4.model.BooleanType;
import org.hl7.fhir.r4.model.Coding;
import org.hl7.fhir.r4.model.DateTimeType;
import org.hl7.fhir.r4.model.DecimalType;
import org.hl7.fhir.r4.model.IntegerType;
import org.hl7.fhir.r4.model.Questionnaire;
import org.hl7.fhir.r4.model.Questionnaire.QuestionnaireItemComponent;
import org.hl7.fhir.r4.model.Questionnaire.QuestionnaireItemType;
import org.hl7.fhir.r4.model.QuestionnaireResponse;
import org.hl7.fhir.r4.model.QuestionnaireResponse.QuestionnaireResponseItemComponent;
import org.hl7.fhir.r4.model.QuestionnaireResponse.QuestionnaireResponseStatus;
import org.hl7.fhir.r4.model.StringType;
import org.hl7.fhir.r4.model.Type;

/** Fills in a form as an app does that reads the Questionnaire: each answer in its place. */
public final class Form {
  private final Questionnaire questions;
  private final QuestionnaireResponse response = new QuestionnaireResponse();

  private Form(Questionnaire questions) {
    this.questions = questions;
    response.setQuestionnaire(questions.getUrl() + "|" + questions.getVersion());
    response.setStatus(QuestionnaireResponseStatus.COMPLETED);
  }

  /** One of our own forms, empty. */
  public static Form of(String id) {
    return of(
        ProfileFiles.all(Questionnaire.class).stream()
            .filter(form -> form.getIdElement().getIdPart().equals(id))
            .findFirst()
            .orElseThrow());
  }

  /** Any form, empty. */
  public static Form of(Questionnaire questions) {
    return new Form(questions);
  }

  /** Says whom the form is about and when it was filled in. */
  public Form about(String subject, String authored) {
    response.getSubject().setReference(subject);
    response.setAuthoredElement(new DateTimeType(authored));
    return this;
  }

  /** The left knee. */
  public Form left() {
    return answer("side", new Coding(Codes.SNOMED, Codes.SNOMED_LEFT_KNEE, "Left knee"));
  }

  public Form answer(String linkId, int number) {
    return answer(linkId, new IntegerType(number));
  }

  public Form answer(String linkId, String number) {
    return answer(linkId, new DecimalType(number));
  }

  public Form answer(String linkId, boolean yes) {
    return answer(linkId, new BooleanType(yes));
  }

  public Form words(String linkId, String text) {
    return answer(linkId, new StringType(text));
  }

  /** Answers a question, in place of an answer given before. */
  public Form answer(String linkId, Type value) {
    item(linkId).getAnswer().clear();
    return also(linkId, value);
  }

  /** Gives one more answer to a question. */
  public Form also(String linkId, Type value) {
    item(linkId).addAnswer().setValue(value);
    return this;
  }

  /** Takes an answer back. */
  public Form clear(String linkId) {
    item(linkId).getAnswer().clear();
    return this;
  }

  public QuestionnaireResponse response() {
    return response;
  }

  /** The response as it is sent: what is empty is left out. */
  public QuestionnaireResponse filled() {
    QuestionnaireResponse sent = response.copy();
    prune(sent.getItem());
    return sent;
  }

  private static void prune(List<QuestionnaireResponseItemComponent> items) {
    items.forEach(item -> prune(item.getItem()));
    items.removeIf(item -> !item.hasAnswer() && !item.hasItem());
  }

  private QuestionnaireResponseItemComponent item(String linkId) {
    if (response.getItem().isEmpty()) {
      lay(questions.getItem(), response.getItem());
    }
    return find(response.getItem(), linkId);
  }

  private static void lay(
      List<QuestionnaireItemComponent> asked, List<QuestionnaireResponseItemComponent> laid) {
    for (QuestionnaireItemComponent question : asked) {
      QuestionnaireResponseItemComponent item =
          new QuestionnaireResponseItemComponent(new StringType(question.getLinkId()));
      laid.add(item);
      if (question.getType() == QuestionnaireItemType.GROUP) {
        lay(question.getItem(), item.getItem());
      }
    }
  }

  private static QuestionnaireResponseItemComponent find(
      List<QuestionnaireResponseItemComponent> items, String linkId) {
    for (QuestionnaireResponseItemComponent item : items) {
      if (item.getLinkId().equals(linkId)) {
        return item;
      }
      QuestionnaireResponseItemComponent inner = find(item.getItem(), linkId);
      if (inner != null) {
        return inner;
      }
    }
    return null;
  }
}

package org.tidemark.fhir;

import java.math.BigDecimal;
import java.util.HashSet;
import java.util.List;
import java.util.Objects;
import java.util.Optional;
import java.util.Set;
import org.hl7.fhir.r4.model.Attachment;
import org.hl7.fhir.r4.model.BooleanType;
import org.hl7.fhir.r4.model.Coding;
import org.hl7.fhir.r4.model.DateTimeType;
import org.hl7.fhir.r4.model.DateType;
import org.hl7.fhir.r4.model.DecimalType;
import org.hl7.fhir.r4.model.IntegerType;
import org.hl7.fhir.r4.model.Quantity;
import org.hl7.fhir.r4.model.Questionnaire.QuestionnaireItemAnswerOptionComponent;
import org.hl7.fhir.r4.model.Questionnaire.QuestionnaireItemComponent;
import org.hl7.fhir.r4.model.Questionnaire.QuestionnaireItemType;
import org.hl7.fhir.r4.model.QuestionnaireResponse.QuestionnaireResponseItemAnswerComponent;
import org.hl7.fhir.r4.model.QuestionnaireResponse.QuestionnaireResponseItemComponent;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.StringType;
import org.hl7.fhir.r4.model.TimeType;
import org.hl7.fhir.r4.model.Type;
import org.hl7.fhir.r4.model.UriType;

/**
 * Holds the answers of a completed form against its questions: each is known, of the right type,
 * within its limits and among its options, and what is required is there. Conditions on questions
 * ({@code enableWhen}) are not worked out: a question that has one, or stands inside one, is never
 * required here.
 */
final class FormCheck {
  private static final String MIN_VALUE = "http://hl7.org/fhir/StructureDefinition/minValue";
  private static final String MAX_VALUE = "http://hl7.org/fhir/StructureDefinition/maxValue";

  private final Findings findings;

  FormCheck(Findings findings) {
    this.findings = findings;
  }

  /** The question with a linkId among those of one level, if there is one. */
  static Optional<QuestionnaireItemComponent> find(
      List<QuestionnaireItemComponent> questions, String linkId) {
    return questions.stream().filter(item -> item.getLinkId().equals(linkId)).findFirst();
  }

  /** A sentence about an item, which names it. */
  static String about(String linkId, String sentence) {
    return "Item '" + linkId + "': " + sentence;
  }

  void check(
      List<QuestionnaireItemComponent> questions,
      List<QuestionnaireResponseItemComponent> given,
      String path) {
    Set<String> seen = new HashSet<>();
    for (int i = 0; i < given.size(); i++) {
      QuestionnaireResponseItemComponent item = given.get(i);
      String at = path + ".item[" + i + "]";
      Optional<QuestionnaireItemComponent> question = find(questions, item.getLinkId());
      if (question.isEmpty()) {
        refuse(
            Problem.Kind.UNSUPPORTED,
            item.getLinkId(),
            "the form has no such item here.",
            at + ".linkId");
        continue;
      }
      boolean group = question.get().getType() == QuestionnaireItemType.GROUP;
      if (!seen.add(item.getLinkId()) && !(group && question.get().getRepeats())) {
        refuse(Problem.Kind.DUPLICATE, item.getLinkId(), "it is given twice.", at + ".linkId");
      }
      check(question.get(), item, at);
    }
    questions.forEach(question -> requireAnswered(question, given, path));
  }

  private void check(
      QuestionnaireItemComponent question, QuestionnaireResponseItemComponent item, String path) {
    String linkId = question.getLinkId();
    boolean asks =
        question.getType() != QuestionnaireItemType.GROUP
            && question.getType() != QuestionnaireItemType.DISPLAY;
    if (!asks && item.hasAnswer()) {
      refuse(Problem.Kind.UNSUPPORTED, linkId, "it takes no answer.", path + ".answer[0]");
    }
    if (!asks) {
      check(question.getItem(), item.getItem(), path);
      return;
    }
    if (item.hasItem()) {
      refuse(
          Problem.Kind.UNSUPPORTED,
          linkId,
          "items below a question stand in its answer.",
          path + ".item[0]");
    }
    if (item.getAnswer().size() > 1 && !question.getRepeats()) {
      refuse(Problem.Kind.DUPLICATE, linkId, "it takes one answer.", path + ".answer[1]");
    }
    for (int i = 0; i < item.getAnswer().size(); i++) {
      QuestionnaireResponseItemAnswerComponent answer = item.getAnswer().get(i);
      String at = path + ".answer[" + i + "]";
      if (hasValue(answer)) {
        check(question, answer.getValue(), at + ".value");
      }
      if (hasValue(answer) || answer.hasItem()) {
        check(question.getItem(), answer.getItem(), at);
      }
    }
  }

  /** Whether an answer has a value, and not only an extension that says why it has none. */
  static boolean hasValue(QuestionnaireResponseItemAnswerComponent answer) {
    return answer.hasValue()
        && (!answer.getValue().isPrimitive() || answer.getValue().hasPrimitiveValue());
  }

  private void check(QuestionnaireItemComponent question, Type value, String path) {
    List<Class<? extends Type>> types = types(question);
    if (types.stream().noneMatch(type -> type.isInstance(value))) {
      refuse(
          Problem.Kind.UNSUPPORTED,
          question.getLinkId(),
          "it is answered by %s, not by a %s."
              .formatted(
                  String.join(
                      " or ", types.stream().map(FormCheck::name).distinct().sorted().toList()),
                  value.fhirType()),
          path);
      return;
    }
    checkOptions(question, value, path);
    checkLimits(question, value, path);
  }

  private static List<Class<? extends Type>> types(QuestionnaireItemComponent question) {
    return switch (question.getType()) {
      case BOOLEAN -> List.of(BooleanType.class);
      case DECIMAL -> List.of(DecimalType.class, IntegerType.class);
      case INTEGER -> List.of(IntegerType.class);
      case DATE -> List.of(DateType.class);
      case DATETIME -> List.of(DateTimeType.class);
      case TIME -> List.of(TimeType.class);
      case URL -> List.of(UriType.class);
      case CHOICE -> optionTypes(question);
      case OPENCHOICE -> List.of(Coding.class, StringType.class);
      case ATTACHMENT -> List.of(Attachment.class);
      case REFERENCE -> List.of(Reference.class);
      case QUANTITY -> List.of(Quantity.class);
      default -> List.of(StringType.class);
    };
  }

  private static List<Class<? extends Type>> optionTypes(QuestionnaireItemComponent question) {
    return question.hasAnswerOption()
        ? question.getAnswerOption().stream()
            .<Class<? extends Type>>map(option -> option.getValue().getClass())
            .distinct()
            .toList()
        : List.of(Coding.class);
  }

  private static String name(Class<? extends Type> type) {
    return type.getSimpleName().replace("Type", "");
  }

  private void checkOptions(QuestionnaireItemComponent question, Type value, String path) {
    boolean open = question.getType() == QuestionnaireItemType.OPENCHOICE;
    if (!question.hasAnswerOption() || open) {
      return;
    }
    if (question.getAnswerOption().stream().noneMatch(option -> isSame(option, value))) {
      List<String> options =
          question.getAnswerOption().stream().map(option -> words(option.getValue())).toList();
      refuse(
          Problem.Kind.INVALID_VALUE,
          question.getLinkId(),
          "the answer is one of " + String.join(", ", options) + ", not " + words(value) + ".",
          path);
    }
  }

  private static boolean isSame(QuestionnaireItemAnswerOptionComponent option, Type value) {
    if (option.getValue() instanceof Coding offered && value instanceof Coding chosen) {
      return Objects.equals(offered.getSystem(), chosen.getSystem())
          && Objects.equals(offered.getCode(), chosen.getCode());
    }
    return option.getValue().isPrimitive()
        && value.isPrimitive()
        && option.getValue().primitiveValue().equals(value.primitiveValue());
  }

  private static String words(Type value) {
    if (value instanceof Coding coding) {
      return (coding.hasSystem() ? coding.getSystem() + "|" : "") + coding.getCode();
    }
    return "'" + value.primitiveValue() + "'";
  }

  private void checkLimits(QuestionnaireItemComponent question, Type value, String path) {
    Optional<BigDecimal> number = number(value);
    Optional<BigDecimal> least = limit(question, MIN_VALUE);
    Optional<BigDecimal> most = limit(question, MAX_VALUE);
    boolean low = number.isPresent() && least.isPresent() && isLess(number.get(), least.get());
    boolean high = number.isPresent() && most.isPresent() && isLess(most.get(), number.get());
    if (low || high) {
      String range =
          least.map(min -> "from " + min.toPlainString() + " ").orElse("")
              + most.map(max -> "up to " + max.toPlainString() + " ").orElse("");
      refuse(
          Problem.Kind.OUT_OF_RANGE,
          question.getLinkId(),
          "the answer is " + range.trim() + ", not " + number.get() + ".",
          path);
    }
    if (question.hasMaxLength()
        && value instanceof StringType text
        && text.getValue().length() > question.getMaxLength()) {
      refuse(
          Problem.Kind.OUT_OF_RANGE,
          question.getLinkId(),
          "the answer has at most " + question.getMaxLength() + " characters.",
          path);
    }
  }

  private static boolean isLess(BigDecimal one, BigDecimal other) {
    return one.compareTo(other) < 0;
  }

  private static Optional<BigDecimal> limit(QuestionnaireItemComponent question, String url) {
    return question.hasExtension(url)
        ? number(question.getExtensionByUrl(url).getValue())
        : Optional.empty();
  }

  /** A number, whole or not; empty for other types. */
  static Optional<BigDecimal> number(Type value) {
    if (value instanceof IntegerType whole) {
      return Optional.of(BigDecimal.valueOf(whole.getValue()));
    }
    return value instanceof DecimalType number ? Optional.of(number.getValue()) : Optional.empty();
  }

  private void requireAnswered(
      QuestionnaireItemComponent question,
      List<QuestionnaireResponseItemComponent> given,
      String path) {
    if (question.hasEnableWhen()) {
      return;
    }
    boolean there =
        given.stream()
            .filter(item -> question.getLinkId().equals(item.getLinkId()))
            .anyMatch(FormCheck::isAnswered);
    if (question.getRequired() && !there) {
      refuse(Problem.Kind.MISSING, question.getLinkId(), "it must be answered.", path);
    }
    boolean left = given.stream().noneMatch(i -> question.getLinkId().equals(i.getLinkId()));
    if (question.getType() == QuestionnaireItemType.GROUP && left) {
      question.getItem().forEach(inner -> requireAnswered(inner, List.of(), path));
    }
  }

  private static boolean isAnswered(QuestionnaireResponseItemComponent item) {
    return item.getAnswer().stream().anyMatch(FormCheck::hasValue)
        || item.getItem().stream().anyMatch(FormCheck::isAnswered);
  }

  private void refuse(Problem.Kind kind, String linkId, String sentence, String path) {
    findings.refuse(kind, about(linkId, sentence), path);
  }
}

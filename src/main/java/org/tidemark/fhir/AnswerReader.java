package org.tidemark.fhir;

import java.math.BigDecimal;
import java.util.Optional;
import org.hl7.fhir.r4.model.BooleanType;
import org.hl7.fhir.r4.model.CodeableConcept;
import org.hl7.fhir.r4.model.Coding;
import org.hl7.fhir.r4.model.IntegerType;
import org.hl7.fhir.r4.model.Quantity;
import org.hl7.fhir.r4.model.StringType;
import org.hl7.fhir.r4.model.Type;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Grade;
import org.tidemark.quantity.Unit;
import org.tidemark.quantity.Value;
import org.tidemark.quantity.YesNo;

/**
 * The value of an Observation or of one of its components. A value that is not there gives nothing,
 * never 0 or no. A text or a coded answer where a number is due is for a person to read: it leaves
 * the report in doubt. Any other type is refused.
 *
 * @param findings where faults go
 */
record AnswerReader(Findings findings) {

  /** The answer to an item of ours. */
  Optional<Value> read(Item item, Type value, String path) {
    if (isAbsent(value)) {
      return Optional.empty();
    }
    boolean yesNo = value instanceof BooleanType;
    return switch (item.answer()) {
      case AMOUNT -> widened(amount(item, value, path));
      case YES_NO -> widened(yesNo(item.code(), value, path));
      case OWNED ->
          yesNo
              ? widened(yesNo(item.code(), value, path))
              : amount(item, value, path).map(count -> new YesNo(!count.isZero()));
      case OWNED_OR_AMOUNT ->
          yesNo ? widened(yesNo(item.code(), value, path)) : widened(amount(item, value, path));
      case CONTACT ->
          yesNo
              ? widened(yesNo(item.code(), value, path))
              : amount(item, value, path).map(gap -> new YesNo(gap.isZero()));
      case EFFUSION -> widened(effusion(item, value, path));
    };
  }

  /** The answer to an item that only a programme knows. */
  Optional<Value> readAny(String item, Type value, String path) {
    if (isAbsent(value)) {
      return Optional.empty();
    }
    if (value instanceof BooleanType) {
      return widened(yesNo(item, value, path));
    }
    if (value instanceof CodeableConcept concept) {
      return widened(grade(item, concept, path));
    }
    if (value instanceof IntegerType number) {
      return widened(notNegative(item, Amount.of(number.getValue(), Unit.COUNT), path));
    }
    if (value instanceof Quantity quantity) {
      return widened(
          findings
              .find(() -> Units.findAny(quantity, path))
              .flatMap(amount -> notNegative(item, amount, path)));
    }
    if (value instanceof StringType) {
      return inDoubt(item, path);
    }
    return wrongType(item, "Quantity, integer, boolean or CodeableConcept", value, path);
  }

  /** The amount of an item of ours, within its limits. */
  Optional<Amount> amount(Item item, Type value, String path) {
    if (isAbsent(value)) {
      return Optional.empty();
    }
    boolean counts = item.unit() == Unit.SCORE || item.unit() == Unit.COUNT;
    if (counts && value instanceof IntegerType number) {
      return within(item, Amount.of(number.getValue(), item.unit()), path);
    }
    if (value instanceof Quantity quantity) {
      return findings
          .find(() -> Units.find(quantity, item.unit(), path))
          .flatMap(amount -> within(item, amount, path));
    }
    boolean numberDue = item.answer() == Item.Answer.AMOUNT;
    if (numberDue && (value instanceof StringType || value instanceof CodeableConcept)) {
      return inDoubt(item.code(), path);
    }
    return wrongType(item.code(), types(item, counts), value, path);
  }

  /** The value that a progression variable was set to. */
  Optional<Value> setting(String variable, Type value, Measures measures, String path) {
    if (isAbsent(value)) {
      return Optional.empty();
    }
    if (value instanceof CodeableConcept concept) {
      return widened(grade(variable, concept, path));
    }
    if (value instanceof Quantity quantity) {
      return widened(
          findings
              .find(() -> measures.find(variable, quantity, path))
              .flatMap(amount -> notNegative(variable, amount, path)));
    }
    if (value instanceof StringType) {
      return inDoubt(variable, path);
    }
    return wrongType(variable, "Quantity or CodeableConcept", value, path);
  }

  /** Yes or no. */
  Optional<YesNo> yesNo(String item, Type value, String path) {
    if (isAbsent(value)) {
      return Optional.empty();
    }
    if (value instanceof BooleanType answer) {
      return Optional.of(answer.booleanValue() ? YesNo.YES : YesNo.NO);
    }
    return wrongType(item, "boolean", value, path);
  }

  private Optional<Amount> effusion(Item item, Type value, String path) {
    if (!(value instanceof CodeableConcept concept)) {
      return wrongType(item.code(), "CodeableConcept", value, path);
    }
    Optional<Amount> grade =
        concept.getCoding().stream()
            .map(Coding::getCode)
            .map(Item.EFFUSION_GRADES::indexOf)
            .filter(index -> index >= 0)
            .findFirst()
            .map(index -> Amount.of(index, Unit.COUNT));
    if (grade.isEmpty()) {
      findings.refuse(Problem.Kind.OUT_OF_RANGE, sentence(item.why()), path);
    }
    return grade;
  }

  private Optional<Grade> grade(String item, CodeableConcept concept, String path) {
    Optional<Grade> grade =
        concept.getCoding().stream()
            .map(Coding::getCode)
            .filter(code -> code != null && !code.isBlank())
            .findFirst()
            .map(Grade::new);
    if (grade.isEmpty()) {
      findings.doubt(item + " is said in words: a person has to read it.", path);
    }
    return grade;
  }

  private Optional<Amount> within(Item item, Amount amount, String path) {
    boolean tooLittle = amount.value().compareTo(item.least()) < 0;
    boolean tooMuch = amount.value().compareTo(item.most()) > 0;
    boolean between =
        item.step().signum() > 0 && amount.value().remainder(item.step()).signum() != 0;
    if (tooLittle || tooMuch || between) {
      findings.refuse(
          Problem.Kind.OUT_OF_RANGE,
          item.code() + " must be " + range(item) + ", was " + amount + ": " + item.why() + ".",
          path);
      return Optional.empty();
    }
    return Optional.of(amount);
  }

  private static String range(Item item) {
    Amount most = new Amount(item.most(), item.unit());
    String steps =
        item.step().signum() == 0 || item.step().compareTo(BigDecimal.ONE) == 0
            ? ""
            : " in steps of " + item.step().toPlainString();
    String whole = item.step().compareTo(BigDecimal.ONE) == 0 ? "a whole number from " : "";
    return whole + item.least().toPlainString() + " to " + most + steps;
  }

  private Optional<Amount> notNegative(String item, Amount amount, String path) {
    if (amount.value().signum() < 0) {
      findings.refuse(
          Problem.Kind.OUT_OF_RANGE, item + " must be 0 or more, was " + amount + ".", path);
      return Optional.empty();
    }
    return Optional.of(amount);
  }

  private <T> Optional<T> inDoubt(String item, String path) {
    findings.doubt(item + " is not given as a number: a person has to read it.", path);
    return Optional.empty();
  }

  private <T> Optional<T> wrongType(String item, String due, Type value, String path) {
    findings.refuse(
        Problem.Kind.UNSUPPORTED,
        item + " is answered by a " + due + ", not by a " + value.fhirType() + ".",
        path);
    return Optional.empty();
  }

  private static String types(Item item, boolean counts) {
    String amount = counts ? "Quantity or integer" : "Quantity with a unit";
    return item.answer() == Item.Answer.AMOUNT ? amount : "boolean, or a " + amount;
  }

  /** Whether there is no value, as when only an extension says why it is missing. */
  private static boolean isAbsent(Type value) {
    return value == null || value.isEmpty() || (value.isPrimitive() && !value.hasPrimitiveValue());
  }

  private static String sentence(String words) {
    return Character.toUpperCase(words.charAt(0)) + words.substring(1) + ".";
  }

  private static Optional<Value> widened(Optional<? extends Value> value) {
    return value.map(known -> known);
  }
}

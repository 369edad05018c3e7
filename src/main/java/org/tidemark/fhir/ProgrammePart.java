package org.tidemark.fhir;

import java.math.BigDecimal;
import java.util.ArrayList;
import java.util.List;
import java.util.Optional;
import java.util.Set;
import org.hl7.fhir.r4.model.BooleanType;
import org.hl7.fhir.r4.model.CodeType;
import org.hl7.fhir.r4.model.Coding;
import org.hl7.fhir.r4.model.DecimalType;
import org.hl7.fhir.r4.model.DomainResource;
import org.hl7.fhir.r4.model.Element;
import org.hl7.fhir.r4.model.Extension;
import org.hl7.fhir.r4.model.IntegerType;
import org.hl7.fhir.r4.model.Quantity;
import org.hl7.fhir.r4.model.StringType;
import org.hl7.fhir.r4.model.Type;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Grade;
import org.tidemark.quantity.Unit;
import org.tidemark.quantity.Value;

/**
 * A place in a definition: the extensions and the value that stand there, with its FHIRPath. What
 * cannot be read is taken down as a fault and comes back empty.
 *
 * @param extensions the extensions that stand there
 * @param value the value of the extension; null where there is none
 * @param nested whether its extensions are parts of an extension, which go by their bare names
 * @param path its FHIRPath
 * @param faults where faults are taken down
 */
record ProgrammePart(
    List<Extension> extensions, Type value, boolean nested, String path, ProgrammeFaults faults) {

  private static final int MOST_DIGITS = 12;

  static ProgrammePart of(DomainResource resource, ProgrammeFaults faults) {
    return new ProgrammePart(resource.getExtension(), null, false, resource.fhirType(), faults);
  }

  static ProgrammePart of(Element element, String path, ProgrammeFaults faults) {
    return new ProgrammePart(element.getExtension(), null, false, path, faults);
  }

  /** Every extension of this name, in order. */
  List<ProgrammePart> all(String name) {
    String url = nested ? name : Codes.structure(name);
    List<ProgrammePart> parts = new ArrayList<>();
    for (int i = 0; i < extensions.size(); i++) {
      Extension extension = extensions.get(i);
      if (url.equals(extension.getUrl())) {
        String at = path + ".extension[" + i + "]";
        parts.add(
            new ProgrammePart(extension.getExtension(), extension.getValue(), true, at, faults));
      }
    }
    return parts;
  }

  /** The extension of this name, if there is one; a second one is a fault. */
  Optional<ProgrammePart> one(String name) {
    List<ProgrammePart> parts = all(name);
    if (parts.size() > 1) {
      parts.get(1).fault(Problem.Kind.BUSINESS_RULE, "'" + name + "' may stand here once only");
    }
    return parts.stream().findFirst();
  }

  /** The extension of this name; its absence is a fault. */
  Optional<ProgrammePart> needed(String name) {
    Optional<ProgrammePart> part = one(name);
    if (part.isEmpty()) {
      fault(Problem.Kind.MISSING, "'" + name + "' is missing");
    }
    return part;
  }

  /** Takes down every extension of ours that goes by another name than these. */
  void only(Set<String> names) {
    for (int i = 0; i < extensions.size(); i++) {
      String url = extensions.get(i).hasUrl() ? extensions.get(i).getUrl() : "";
      boolean ours = nested || url.startsWith(Codes.structure(""));
      String name = nested ? url : url.substring(url.lastIndexOf('/') + 1);
      if (ours && !names.contains(name)) {
        faults.add(
            Problem.Kind.UNKNOWN_ELEMENT,
            "'" + name + "' is not known here",
            path + ".extension[" + i + "]");
      }
    }
  }

  void fault(Problem.Kind kind, String text) {
    faults.add(kind, text, path);
  }

  Optional<String> code() {
    if (value instanceof CodeType code && code.hasValue()) {
      return Optional.of(code.getValue());
    }
    return wanted("a code");
  }

  Optional<String> text() {
    if (value instanceof StringType string && string.hasValue() && !string.getValue().isBlank()) {
      return Optional.of(string.getValue());
    }
    return wanted("a text");
  }

  Optional<Boolean> flag() {
    if (value instanceof BooleanType flag && flag.hasValue()) {
      return Optional.of(flag.booleanValue());
    }
    return wanted("true or false");
  }

  /** A whole number of at least this much. */
  Optional<Integer> whole(int least) {
    if (!(value instanceof IntegerType number) || !number.hasValue()) {
      return wanted("a whole number");
    }
    if (number.getValue() < least) {
      fault(Problem.Kind.OUT_OF_RANGE, "must be " + least + " or more, was " + number.getValue());
      return Optional.empty();
    }
    return Optional.of(number.getValue());
  }

  Optional<BigDecimal> decimal() {
    if (value instanceof DecimalType number && number.hasValue()) {
      return Optional.of(number.getValue()).filter(this::isReasonable);
    }
    return wanted("a number");
  }

  Optional<Coding> coding() {
    if (value instanceof Coding coding && coding.hasSystem() && coding.hasCode()) {
      return Optional.of(coding);
    }
    return wanted("a code with its system");
  }

  Optional<Amount> amount() {
    return value instanceof Quantity quantity ? amount(quantity) : wanted("a quantity");
  }

  /** A quantity of this unit. */
  Optional<Amount> amount(Unit unit) {
    return amount().filter(amount -> isOf(unit, amount));
  }

  /** A quantity or a grade, whichever stands here. */
  Optional<Value> setting() {
    return value instanceof CodeType ? code().map(Grade::new) : amount().map(Value.class::cast);
  }

  /** A quantity in one of the units that amounts are held in. */
  Optional<Amount> amount(Quantity quantity) {
    if (quantity.getValue() == null) {
      fault(Problem.Kind.MISSING, "the quantity has no value");
      return Optional.empty();
    }
    Optional<Unit> unit =
        Codes.UCUM.equals(quantity.getSystem()) ? Unit.find(quantity.getCode()) : Optional.empty();
    if (unit.isEmpty()) {
      fault(
          Problem.Kind.WRONG_UNIT,
          "unknown unit '" + quantity.getCode() + "' of '" + quantity.getSystem() + "'");
    }
    return unit.filter(known -> isReasonable(quantity.getValue()))
        .map(known -> new Amount(quantity.getValue(), known));
  }

  /** Whether an amount has this unit; another unit is a fault. */
  boolean isOf(Unit unit, Amount amount) {
    if (amount.unit() != unit) {
      fault(Problem.Kind.WRONG_UNIT, "wanted " + unit.ucum() + ", was " + amount.unit().ucum());
    }
    return amount.unit() == unit;
  }

  private boolean isReasonable(BigDecimal number) {
    boolean reasonable =
        number.precision() <= MOST_DIGITS && Math.abs(number.scale()) <= MOST_DIGITS;
    if (!reasonable) {
      fault(Problem.Kind.OUT_OF_RANGE, "wanted a number of at most " + MOST_DIGITS + " digits");
    }
    return reasonable;
  }

  private <T> Optional<T> wanted(String what) {
    String was =
        value == null ? "nothing" : value.fhirType() + (value.isEmpty() ? " without a value" : "");
    fault(
        value == null ? Problem.Kind.MISSING : Problem.Kind.MALFORMED,
        "wanted " + what + ", was " + was);
    return Optional.empty();
  }
}

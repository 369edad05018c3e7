package org.tidemark.fhir;

import java.math.BigDecimal;
import java.util.Map;
import org.hl7.fhir.r4.model.BooleanType;
import org.hl7.fhir.r4.model.CodeType;
import org.hl7.fhir.r4.model.Extension;
import org.hl7.fhir.r4.model.PositiveIntType;
import org.hl7.fhir.r4.model.Quantity;
import org.hl7.fhir.r4.model.Type;
import org.tidemark.programme.Dose;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Grade;
import org.tidemark.quantity.Unit;
import org.tidemark.quantity.Value;
import org.tidemark.quantity.YesNo;

/** Our extensions and the values in them. */
final class Extensions {
  private Extensions() {}

  /** An extension with a code. */
  static Extension code(String name, String code) {
    return new Extension(Codes.structure(name), new CodeType(code));
  }

  /** Which side a resource is about, where it has no body site that says so. */
  static Extension side(PlanIdentity plan) {
    return new Extension(Codes.SIDE, new CodeType(plan.side().code()));
  }

  /** An extension with parts. */
  static Extension complex(String name) {
    return new Extension(Codes.structure(name));
  }

  /** A part of an extension. */
  static Extension part(String name, Type value) {
    return new Extension(name, value);
  }

  /** What one variable is set to. */
  static Extension setting(Map.Entry<String, Value> entry) {
    Extension setting = new Extension(Codes.SETTING);
    setting.addExtension(part("variable", new CodeType(entry.getKey())));
    setting.addExtension(part("value", value(entry.getValue())));
    return setting;
  }

  /**
   * How much of an exercise is asked for; parts that do not belong to it are left out. How often is
   * the timing's to say.
   */
  static Extension dose(Dose dose) {
    Extension extension = new Extension(Codes.DOSE);
    extension.addExtension(part("sets", new PositiveIntType(dose.sets())));
    if (dose.repetitions() > 0) {
      extension.addExtension(part("repetitions", new PositiveIntType(dose.repetitions())));
    }
    if (dose.holdSeconds() > 0) {
      extension.addExtension(part("hold", quantity(Amount.of(dose.holdSeconds(), Unit.SECOND))));
    }
    if (dose.timeSeconds() > 0) {
      extension.addExtension(part("time", quantity(Amount.of(dose.timeSeconds(), Unit.SECOND))));
    }
    return extension;
  }

  /** An amount by its UCUM code, a grade by its code, yes or no as a boolean. */
  static Type value(Value value) {
    if (value instanceof Amount amount) {
      return quantity(amount);
    }
    return value instanceof Grade grade
        ? new CodeType(grade.code())
        : new BooleanType(((YesNo) value).yes());
  }

  static Quantity quantity(Amount amount) {
    return quantity(amount.value(), amount.unit());
  }

  private static Quantity quantity(BigDecimal number, Unit unit) {
    Quantity quantity = new Quantity();
    quantity.setValue(number);
    quantity.setUnit(unit.ucum());
    quantity.setSystem(Codes.UCUM);
    quantity.setCode(unit.ucum());
    return quantity;
  }
}

package org.tidemark.fhir;

import ca.uhn.fhir.context.BaseRuntimeChildDefinition;
import ca.uhn.fhir.context.BaseRuntimeElementCompositeDefinition;
import ca.uhn.fhir.context.BaseRuntimeElementDefinition;
import ca.uhn.fhir.context.BaseRuntimeElementDefinition.ChildTypeEnum;
import ca.uhn.fhir.context.FhirContext;
import ca.uhn.fhir.context.RuntimeResourceDefinition;
import java.util.ArrayList;
import java.util.List;
import java.util.Set;
import java.util.stream.Stream;
import org.hl7.fhir.instance.model.api.IBase;
import org.hl7.fhir.r4.model.Base64BinaryType;
import org.hl7.fhir.r4.model.BaseDateTimeType;
import org.hl7.fhir.r4.model.BooleanType;
import org.hl7.fhir.r4.model.CodeableConcept;
import org.hl7.fhir.r4.model.Coding;
import org.hl7.fhir.r4.model.DecimalType;
import org.hl7.fhir.r4.model.EnumFactory;
import org.hl7.fhir.r4.model.IntegerType;
import org.hl7.fhir.r4.model.Period;
import org.hl7.fhir.r4.model.PrimitiveType;
import org.hl7.fhir.r4.model.Quantity;
import org.hl7.fhir.r4.model.Range;
import org.hl7.fhir.r4.model.Ratio;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.Resource;
import org.hl7.fhir.r4.model.SampledData;
import org.hl7.fhir.r4.model.StringType;
import org.hl7.fhir.r4.model.TimeType;
import org.hl7.fhir.r4.model.Timing;
import org.hl7.fhir.r4.model.Type;

/**
 * Resources of R4, each with one element filled: all elements that a type has, one after another.
 */
final class EveryElement {
  private static final FhirContext R4 = FhirContext.forR4Cached();

  /** What every resource has, and what repeats another by another name. */
  private static final Set<String> LEFT_OUT =
      Set.of(
          "id",
          "meta",
          "text",
          "contained",
          "extension",
          "modifierExtension",
          "implicitRules",
          "language");

  private final RuntimeResourceDefinition type;
  private final List<Filled> filled = new ArrayList<>();

  private EveryElement(String type) {
    this.type = R4.getResourceDefinition(type);
  }

  /**
   * A resource with one element.
   *
   * @param path the element, such as {@code Goal.target.measure}
   * @param resource the resource
   */
  record Filled(String path, Resource resource) {
    @Override
    public String toString() {
      return path;
    }
  }

  /** A resource for each element of a type. */
  static Stream<Filled> of(String type) {
    EveryElement every = new EveryElement(type);
    every.walk(every.type, List.of());
    return every.filled.stream();
  }

  private void walk(
      BaseRuntimeElementCompositeDefinition<?> at, List<BaseRuntimeChildDefinition> above) {
    for (BaseRuntimeChildDefinition child : at.getChildrenAndExtension()) {
      if (LEFT_OUT.contains(child.getElementName()) || above.contains(child)) {
        continue;
      }
      List<BaseRuntimeChildDefinition> path = new ArrayList<>(above);
      path.add(child);
      for (String name : child.getValidChildNames()) {
        BaseRuntimeElementDefinition<?> element = child.getChildByName(name);
        if (element.getChildType() == ChildTypeEnum.RESOURCE_BLOCK) {
          walk((BaseRuntimeElementCompositeDefinition<?>) element, path);
        } else if (!name.endsWith("Resource") && !name.endsWith("Xhtml")) {
          fill(path, name, element);
        }
      }
    }
  }

  private void fill(
      List<BaseRuntimeChildDefinition> path, String name, BaseRuntimeElementDefinition<?> element) {
    BaseRuntimeChildDefinition last = path.get(path.size() - 1);
    IBase value = element.newInstance(last.getInstanceConstructorArguments());
    if (!give(value)) {
      return;
    }
    Resource resource = (Resource) type.newInstance();
    IBase at = resource;
    StringBuilder place = new StringBuilder(type.getName());
    for (BaseRuntimeChildDefinition block : path.subList(0, path.size() - 1)) {
      IBase next = block.getChildByName(block.getElementName()).newInstance();
      block.getMutator().addValue(at, next);
      place.append('.').append(block.getElementName());
      at = next;
    }
    last.getMutator().addValue(at, value);
    filled.add(new Filled(place.append('.').append(name).toString(), resource));
  }

  /** Whether there is something to give: types that HAPI offers beyond R4's own have nothing. */
  private static boolean give(IBase value) {
    if (value instanceof org.hl7.fhir.r4.model.Enumeration<?> code) {
      code.setValueAsString(anyCode(code.getEnumFactory()));
    } else if (value instanceof PrimitiveType<?> primitive) {
      primitive.setValueAsString(text(primitive));
    } else if (value instanceof Reference reference) {
      reference.setReference("Patient/1");
    } else if (value instanceof CodeableConcept concept) {
      concept.addCoding(coding());
    } else if (value instanceof Coding coding) {
      coding.setSystem("http://codes.example").setCode("a");
    } else if (value instanceof Period period) {
      period.getStartElement().setValueAsString("2026-01-02");
    } else if (value instanceof Quantity quantity) {
      quantity.setValue(2).setCode("kg");
    } else if (value instanceof Range range) {
      range.getLow().setValue(2);
    } else if (value instanceof Ratio ratio) {
      ratio.getNumerator().setValue(2);
    } else if (value instanceof Timing timing) {
      timing.getRepeat().setCount(2);
    } else if (value instanceof SampledData sampled) {
      sampled.setData("1 2");
    } else if (value instanceof Type whole) {
      return giveText(whole);
    }
    return true;
  }

  /** Any element of a data type that takes text. */
  private static boolean giveText(Type whole) {
    for (String name : List.of("text", "value", "family", "name", "city", "title", "display")) {
      if (whole.getNamedProperty(name) != null
          && whole.getNamedProperty(name).getTypeCode().matches("string|markdown")) {
        whole.setProperty(name, new StringType("a"));
        return true;
      }
    }
    return false;
  }

  private static Coding coding() {
    return new Coding("http://codes.example", "a", null);
  }

  private static String text(PrimitiveType<?> primitive) {
    if (primitive instanceof BooleanType) {
      return "true";
    }
    if (primitive instanceof BaseDateTimeType) {
      return primitive.fhirType().equals("instant") ? "2026-01-02T03:04:05Z" : "2026-01-02";
    }
    if (primitive instanceof TimeType) {
      return "03:04:05";
    }
    if (primitive instanceof DecimalType || primitive instanceof IntegerType) {
      return "2";
    }
    return primitive instanceof Base64BinaryType ? "YQ==" : "a";
  }

  private static String anyCode(EnumFactory<?> codes) {
    try {
      Class<?> all = codes.getClass().getMethod("fromCode", String.class).getReturnType();
      Object first = all.getEnumConstants()[0];
      return (String) all.getMethod("toCode").invoke(first);
    } catch (ReflectiveOperationException e) {
      throw new IllegalStateException(e);
    }
  }
}

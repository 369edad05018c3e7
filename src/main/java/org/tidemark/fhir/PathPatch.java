package org.tidemark.fhir;

import ca.uhn.fhir.context.FhirContext;
import ca.uhn.fhir.fhirpath.FhirPathExecutionException;
import ca.uhn.fhir.fhirpath.IFhirPath;
import java.util.ArrayList;
import java.util.List;
import java.util.Optional;
import org.hl7.fhir.exceptions.FHIRException;
import org.hl7.fhir.r4.model.Base;
import org.hl7.fhir.r4.model.IntegerType;
import org.hl7.fhir.r4.model.Parameters;
import org.hl7.fhir.r4.model.Parameters.ParametersParameterComponent;
import org.hl7.fhir.r4.model.PrimitiveType;
import org.hl7.fhir.r4.model.Property;
import org.hl7.fhir.r4.model.Resource;

/** Carries out a FHIRPath Patch on one resource, which it changes. */
final class PathPatch {
  private final IFhirPath fhirPath;
  private final Resource resource;

  PathPatch(FhirContext context, Resource resource) {
    this.fhirPath = context.newFhirPath();
    this.resource = resource;
  }

  /** Where an element hangs. */
  private record Place(Base parent, String name, int index) {
    List<Base> siblings() {
      return new ArrayList<>(parent.getNamedProperty(name).getValues());
    }
  }

  /** One operation and its place in the patch. */
  private record Operation(String at, ParametersParameterComponent parameter) {
    Optional<ParametersParameterComponent> part(String name) {
      return parameter.getPart().stream().filter(part -> part.getName().equals(name)).findFirst();
    }

    String text(String name) {
      return part(name)
          .map(ParametersParameterComponent::getValue)
          .filter(value -> value.isPrimitive() && value.hasPrimitiveValue())
          .map(Base::primitiveValue)
          .orElseThrow(() -> missing(name));
    }

    int number(String name) {
      return part(name)
          .map(ParametersParameterComponent::getValue)
          .filter(IntegerType.class::isInstance)
          .map(value -> ((IntegerType) value).getValue())
          .orElseThrow(() -> missing(name));
    }

    ParametersParameterComponent value() {
      return part("value")
          .filter(part -> part.hasValue() || part.hasPart())
          .orElseThrow(() -> missing("value"));
    }

    private Problem missing(String name) {
      return Problem.of(
          Problem.Kind.MISSING, "The operation needs a part '" + name + "' of the right type.", at);
    }

    Problem failed(String why) {
      return Patches.failed(why, at);
    }
  }

  void apply(Parameters patch) {
    int index = 0;
    for (ParametersParameterComponent parameter : patch.getParameter()) {
      Operation operation = new Operation("Parameters.parameter[" + index++ + "]", parameter);
      if (!parameter.getName().equals("operation")) {
        throw Problem.of(
            Problem.Kind.MALFORMED,
            "A FHIRPath Patch has parameters with the name 'operation' only.",
            operation.at());
      }
      try {
        apply(operation);
      } catch (FHIRException | IllegalArgumentException e) {
        throw operation.failed("the value does not fit the element.");
      }
    }
  }

  private void apply(Operation operation) {
    String type = operation.text("type");
    switch (type) {
      case "add" -> add(operation);
      case "insert" -> insert(operation);
      case "delete" -> delete(operation);
      case "replace" -> replace(operation);
      case "move" -> move(operation);
      default ->
          throw Problem.of(
              Problem.Kind.MALFORMED,
              "An operation is add, insert, delete, replace or move, not '" + type + "'.",
              operation.at());
    }
  }

  private void add(Operation operation) {
    Base parent = one(operation, operation.text("path"));
    String name = operation.text("name");
    Property property = property(operation, parent, name);
    if (!property.isList() && property.hasValues()) {
      throw operation.failed("the element '" + name + "' is there already.");
    }
    set(operation, parent, name);
  }

  private void insert(Operation operation) {
    String path = operation.text("path");
    Place list = list(operation, path);
    List<Base> values = list.siblings();
    int index = operation.number("index");
    requireWithin(operation, index, values.size());
    set(operation, list.parent(), list.name());
    List<Base> all = list.siblings();
    all.add(index, all.remove(all.size() - 1));
    rewrite(list, all);
  }

  private void delete(Operation operation) {
    List<Base> found = select(operation, operation.text("path"));
    if (found.size() > 1) {
      throw operation.failed("the path leads to more than one element.");
    }
    for (Base element : found) {
      Place place = place(operation, operation.text("path"), element);
      place.parent().removeChild(place.name(), element);
    }
  }

  private void replace(Operation operation) {
    String path = operation.text("path");
    Place place = place(operation, path, one(operation, path));
    set(operation, place.parent(), place.name());
    Property property = place.parent().getNamedProperty(place.name());
    if (property != null && property.isList()) {
      List<Base> all = place.siblings();
      all.set(place.index(), all.remove(all.size() - 1));
      rewrite(place, all);
    }
  }

  private void move(Operation operation) {
    Place list = list(operation, operation.text("path"));
    List<Base> values = list.siblings();
    int source = operation.number("source");
    int destination = operation.number("destination");
    requireWithin(operation, source, values.size() - 1);
    requireWithin(operation, destination, values.size() - 1);
    values.add(destination, values.remove(source));
    rewrite(list, values);
  }

  private static void requireWithin(Operation operation, int index, int most) {
    if (index < 0 || index > most) {
      throw operation.failed("the list has no place " + index + ".");
    }
  }

  /** Sets an element, or adds to it when it repeats. */
  private static void set(Operation operation, Base parent, String name) {
    ParametersParameterComponent value = operation.value();
    if (value.hasValue()) {
      parent.setProperty(name, value.getValue());
    } else {
      build(parent.addChild(name), value.getPart());
    }
  }

  /** An element without a type of its own is given by its children. */
  private static void build(Base element, List<ParametersParameterComponent> parts) {
    for (ParametersParameterComponent part : parts) {
      if (part.hasValue()) {
        element.setProperty(part.getName(), part.getValue());
      } else {
        build(element.addChild(part.getName()), part.getPart());
      }
    }
  }

  private static void rewrite(Place list, List<Base> values) {
    for (Base former : list.siblings()) {
      list.parent().removeChild(list.name(), former);
    }
    for (Base value : values) {
      list.parent().setProperty(list.name(), value);
    }
  }

  private Base one(Operation operation, String path) {
    List<Base> found = select(operation, path);
    if (found.size() != 1) {
      throw operation.failed(
          found.isEmpty()
              ? "the path leads to no element."
              : "the path leads to more than one element.");
    }
    return found.get(0);
  }

  private List<Base> select(Operation operation, String path) {
    try {
      return fhirPath.evaluate(resource, path, Base.class);
    } catch (FhirPathExecutionException e) {
      throw operation.failed("the path is not FHIRPath that can be evaluated here.");
    }
  }

  /** The list that a path without an index at its end names, which may be empty. */
  private Place list(Operation operation, String path) {
    int dot = path.lastIndexOf('.');
    if (dot < 0) {
      throw operation.failed("the path names no list.");
    }
    Base parent = one(operation, path.substring(0, dot));
    String name = path.substring(dot + 1);
    if (!property(operation, parent, name).isList()) {
      throw operation.failed("the path names no list.");
    }
    return new Place(parent, name, 0);
  }

  private Place place(Operation operation, String path, Base element) {
    Place place = place(resource, element);
    if (place != null) {
      return place;
    }
    // The text of a narrative is made anew each time it is asked for.
    int dot = path.lastIndexOf('.');
    if (dot < 0 || !(element instanceof PrimitiveType)) {
      throw operation.failed("the resource itself is no element of it.");
    }
    return new Place(one(operation, path.substring(0, dot)), path.substring(dot + 1), 0);
  }

  private static Place place(Base parent, Base element) {
    for (Property property : parent.children()) {
      List<Base> values = property.getValues();
      for (int i = 0; i < values.size(); i++) {
        if (values.get(i) == element) {
          return new Place(parent, property.getName(), i);
        }
        Place deeper = place(values.get(i), element);
        if (deeper != null) {
          return deeper;
        }
      }
    }
    return null;
  }

  private static Property property(Operation operation, Base parent, String name) {
    Property property = parent.getNamedProperty(name);
    if (property == null) {
      throw operation.failed("there is no element '" + name + "' there.");
    }
    return property;
  }
}

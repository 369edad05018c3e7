package org.tidemark.fhir;

import ca.uhn.fhir.context.BaseRuntimeChildDefinition;
import ca.uhn.fhir.context.BaseRuntimeElementDefinition;
import ca.uhn.fhir.context.BaseRuntimeElementDefinition.ChildTypeEnum;
import ca.uhn.fhir.context.FhirContext;
import ca.uhn.fhir.context.RuntimeResourceDefinition;
import ca.uhn.fhir.parser.DataFormatException;
import java.util.ArrayList;
import java.util.HashMap;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.Objects;
import java.util.Optional;
import java.util.Set;
import java.util.stream.Collectors;
import java.util.stream.Stream;
import org.hl7.fhir.instance.model.api.IPrimitiveType;

/**
 * Checks a body against the definitions of R4 before it becomes a resource, so that each complaint
 * carries the FHIRPath of its element: unknown elements, wrong shapes, values that their types do
 * not allow, missing required elements, and content that changes meaning in a way unknown here
 * ({@code implicitRules}, {@code modifierExtension}). Bindings, invariants and profiles are not
 * checked here.
 */
public final class BodyCheck {
  /** So many complaints are collected; the rest would only repeat them. */
  private static final int MOST = 20;

  private static final Set<String> NUMBERS =
      Set.of("decimal", "integer", "positiveInt", "unsignedInt");

  private final FhirContext context;
  private final SentJson json;
  private final int depth;

  /**
   * A check.
   *
   * @param context HAPI's context for R4
   * @param depth how deep a body may nest
   */
  public BodyCheck(FhirContext context, int depth) {
    this.context = context;
    this.json = new SentJson(depth);
    this.depth = depth;
  }

  /**
   * Checks a body.
   *
   * @param body its bytes, in UTF-8 (or as an XML declaration says)
   * @param xml whether it is XML rather than JSON
   * @return the type of the resource
   * @throws Problem when it cannot become a resource; with all complaints, up to twenty
   */
  public String check(byte[] body, boolean xml) {
    Sent root = xml ? SentXml.read(body, depth) : json.read(body);
    if (root.resourceType() == null) {
      throw Problem.of(Problem.Kind.MALFORMED, "The body has no resourceType.");
    }
    Complaints complaints = new Complaints();
    resource(root, root.resourceType(), complaints);
    complaints.throwIfAny();
    return root.resourceType();
  }

  private void resource(Sent sent, String path, Complaints complaints) {
    Set<String> around = complaints.containedIds;
    complaints.containedIds = containedIds(sent);
    typed(sent, path, complaints);
    complaints.containedIds = around;
  }

  private void typed(Sent sent, String path, Complaints complaints) {
    Optional<RuntimeResourceDefinition> definition = definition(sent.resourceType());
    if (definition.isPresent()) {
      children(sent, definition.get(), path, complaints);
    } else {
      complaints.add(
          Problem.Kind.MALFORMED,
          "R4 has no resource of the type " + quoted(sent.resourceType()),
          path);
    }
  }

  private static Set<String> containedIds(Sent sent) {
    return named(sent, "contained")
        .flatMap(contained -> named(contained, "id"))
        .map(Sent::value)
        .filter(Objects::nonNull)
        .collect(Collectors.toSet());
  }

  private static Stream<Sent> named(Sent sent, String name) {
    return sent.children().stream().filter(child -> child.name().equals(name));
  }

  /** Constraints dom-2, dom-4 and dom-5, for what HAPI's own parser would leave out. */
  private void contained(Sent sent, String path, Complaints complaints) {
    if (named(sent, "id").findAny().isEmpty()) {
      complaints.add(Problem.Kind.MISSING, "A contained resource needs an id.", path + ".id");
    }
    if (named(sent, "contained").findAny().isPresent()) {
      complaints.add(
          Problem.Kind.NOT_VALID,
          "A contained resource contains no others (dom-2).",
          path + ".contained");
    }
    for (String left : List.of("versionId", "lastUpdated", "security")) {
      if (named(sent, "meta").anyMatch(meta -> named(meta, left).findAny().isPresent())) {
        complaints.add(
            Problem.Kind.NOT_VALID,
            "A contained resource has no version and no security label of its own (dom-4, dom-5).",
            path + ".meta." + left);
      }
    }
    typed(sent, path, complaints);
  }

  private Optional<RuntimeResourceDefinition> definition(String type) {
    if (type.isBlank()) {
      return Optional.empty();
    }
    try {
      return Optional.of(context.getResourceDefinition(type));
    } catch (DataFormatException unknown) {
      return Optional.empty();
    }
  }

  private void children(
      Sent sent, BaseRuntimeElementDefinition<?> definition, String path, Complaints complaints) {
    Map<String, Integer> seen = new HashMap<>();
    Map<String, Integer> given = new LinkedHashMap<>();
    sent.children().forEach(child -> given.merge(child.name(), 1, Integer::sum));
    for (Sent child : sent.children()) {
      if (complaints.full()) {
        return;
      }
      int index = seen.merge(child.name(), 1, Integer::sum) - 1;
      child(child, definition, path, index, given.get(child.name()), complaints);
    }
    for (BaseRuntimeChildDefinition required : definition.getChildren()) {
      if (required.getMin() > 0
          && required.getValidChildNames().stream().noneMatch(given::containsKey)) {
        complaints.add(
            Problem.Kind.MISSING, "A required element is missing.", path + "." + stem(required));
      }
    }
  }

  private void child(
      Sent child,
      BaseRuntimeElementDefinition<?> parent,
      String path,
      int index,
      int count,
      Complaints complaints) {
    String name = child.name();
    switch (name) {
      case "modifierExtension" ->
          complaints.add(
              Problem.Kind.UNSUPPORTED,
              "A modifier extension may change what the resource means; none is known here.",
              path + ".modifierExtension[" + index + "]");
      case "extension" -> extension(child, path + ".extension[" + index + "]", complaints);
      case "implicitRules" ->
          complaints.add(
              Problem.Kind.UNSUPPORTED,
              "The resource was written under rules that are not known here.",
              path + ".implicitRules");
      default -> defined(child, parent, path, index, count, complaints);
    }
  }

  private void extension(Sent child, String path, Complaints complaints) {
    if (child.kind() != Sent.Kind.OBJECT) {
      complaints.add(Problem.Kind.WRONG_SHAPE, "An extension must be an object.", path);
      return;
    }
    children(child, context.getElementDefinition("Extension"), path, complaints);
    // Constraint ext-1, of which HAPI's own parser makes an error when it writes.
    boolean says =
        child.children().stream()
            .map(Sent::name)
            .anyMatch(name -> name.equals("extension") || name.startsWith("value"));
    if (!says) {
      complaints.add(Problem.Kind.MISSING, "An extension has a value or extensions.", path);
    }
  }

  private void defined(
      Sent child,
      BaseRuntimeElementDefinition<?> parent,
      String path,
      int index,
      int count,
      Complaints complaints) {
    BaseRuntimeChildDefinition slot =
        child.name().indexOf('[') < 0 ? parent.getChildByName(child.name()) : null;
    if (slot == null || !slot.getValidChildNames().contains(child.name())) {
      if (child.name().equals("id")) {
        primitive(child, "string", null, path + ".id", complaints);
      } else {
        complaints.add(
            Problem.Kind.UNKNOWN_ELEMENT,
            "R4 has no element " + quoted(child.name()) + " here.",
            path + "." + child.name());
      }
      return;
    }
    boolean repeats = slot.getMax() != 1;
    String at = path + "." + stem(slot) + (repeats ? "[" + index + "]" : "");
    boolean json = child.kind() != Sent.Kind.ATTRIBUTE && child.kind() != Sent.Kind.XHTML;
    if (!repeats && (child.listed() || count > 1)) {
      complaints.add(Problem.Kind.WRONG_SHAPE, "Only one value may be given here.", at);
      return;
    }
    if (child.resourceType() != null) {
      if (child.name().equals("contained")) {
        contained(child, at, complaints);
      } else {
        resource(child, at, complaints);
      }
      return;
    }
    BaseRuntimeElementDefinition<?> definition = slot.getChildByName(child.name());
    if (definition == null) {
      complaints.add(Problem.Kind.WRONG_SHAPE, "A resource with its type is expected here.", at);
    } else if (definition.getChildType() == ChildTypeEnum.PRIMITIVE_XHTML
        || definition.getChildType() == ChildTypeEnum.PRIMITIVE_XHTML_HL7ORG) {
      if (child.kind() == Sent.Kind.OBJECT || (json && child.kind() != Sent.Kind.STRING)) {
        complaints.add(Problem.Kind.WRONG_SHAPE, "XHTML is expected here.", at);
      }
      characters(child.value(), at, complaints);
    } else if (definition instanceof ca.uhn.fhir.context.RuntimePrimitiveDatatypeDefinition
        || definition.getName().equals("id")) {
      primitive(child, definition.getName(), slot, at, complaints);
      if (parent.getName().equals("Reference") && leadsNowhere(child, complaints)) {
        complaints.add(Problem.Kind.UNKNOWN_REFERENCE, "No contained resource has this id.", path);
      }
    } else if (child.kind() != Sent.Kind.OBJECT || child.value() != null) {
      complaints.add(
          Problem.Kind.WRONG_SHAPE, "An element with parts is expected here, not a value.", at);
    } else if (child.children().isEmpty()) {
      complaints.add(Problem.Kind.WRONG_SHAPE, "The element is empty.", at);
    } else {
      children(child, definition, at, complaints);
    }
  }

  private static boolean leadsNowhere(Sent child, Complaints complaints) {
    return child.name().equals("reference")
        && child.value() != null
        && child.value().startsWith("#")
        && child.value().length() > 1
        && !complaints.containedIds.contains(child.value().substring(1));
  }

  private void primitive(
      Sent child,
      String type,
      BaseRuntimeChildDefinition slot,
      String path,
      Complaints complaints) {
    for (Sent beside : child.children()) {
      if (beside.name().equals("extension")) {
        extension(beside, path + ".extension", complaints);
      } else if (!beside.name().equals("id")) {
        complaints.add(
            Problem.Kind.UNKNOWN_ELEMENT,
            "R4 has no element " + quoted(beside.name()) + " here.",
            path + "." + beside.name());
      }
    }
    if (child.value() == null) {
      if (child.children().isEmpty()) {
        complaints.add(Problem.Kind.WRONG_SHAPE, "A value is expected here.", path);
      }
      return;
    }
    if (!rightKind(child.kind(), type)) {
      complaints.add(
          Problem.Kind.WRONG_SHAPE, "A value of the type " + type + " is expected here.", path);
    } else if (child.value().isEmpty()) {
      complaints.add(Problem.Kind.INVALID_VALUE, "The value is empty.", path);
    } else if (characters(child.value(), path, complaints)) {
      value(child, type, slot, path, complaints);
    }
  }

  private static boolean rightKind(Sent.Kind kind, String type) {
    return switch (kind) {
      case NUMBER -> NUMBERS.contains(type);
      case BOOLEAN -> type.equals("boolean");
      case STRING -> !NUMBERS.contains(type) && !type.equals("boolean");
      case OBJECT, ATTRIBUTE -> true;
      case NULL, XHTML -> false;
    };
  }

  private void value(
      Sent child,
      String type,
      BaseRuntimeChildDefinition slot,
      String path,
      Complaints complaints) {
    String text = child.value();
    if (NUMBERS.contains(type) && Values.isBeyondDecimal(text)) {
      complaints.add(
          Problem.Kind.OUT_OF_RANGE,
          "A number may have " + Values.DIGITS + " digits, before and after the point together.",
          path);
      return;
    }
    if ((type.equals("dateTime") || type.equals("instant")) && !Values.isZonedOrDate(text)) {
      complaints.add(
          Problem.Kind.INVALID_VALUE,
          "A time needs seconds and a zone, such as Z or +01:00.",
          path);
      return;
    }
    if (slot == null) {
      return;
    }
    try {
      BaseRuntimeElementDefinition<?> definition = slot.getChildByName(child.name());
      ((IPrimitiveType<?>) definition.newInstance(slot.getInstanceConstructorArguments()))
          .setValueAsString(text);
    } catch (DataFormatException | IllegalArgumentException e) {
      complaints.add(
          Problem.Kind.INVALID_VALUE,
          "The value is not a valid " + type + ": " + quoted(text),
          path);
    }
  }

  private static boolean characters(String text, String path, Complaints complaints) {
    if (text != null && Values.hasForbiddenCharacter(text)) {
      complaints.add(
          Problem.Kind.BAD_CHARACTER,
          "The text has a character that FHIR does not allow: a control character or half a pair.",
          path);
      return false;
    }
    return true;
  }

  private static String stem(BaseRuntimeChildDefinition slot) {
    String name = slot.getElementName();
    return name.endsWith("[x]") ? name.substring(0, name.length() - 3) : name;
  }

  private static String quoted(String text) {
    return "'" + (text.length() > 60 ? text.substring(0, 60) + "…" : text) + "'";
  }

  /** Collects complaints. */
  private static final class Complaints {
    private final List<Problem> problems = new ArrayList<>();

    /** The ids of what the resource that is being looked at contains. */
    private Set<String> containedIds = Set.of();

    void add(Problem.Kind kind, String text, String path) {
      if (!full()) {
        problems.add(Problem.of(kind, text, path));
      }
    }

    boolean full() {
      return problems.size() >= MOST;
    }

    void throwIfAny() {
      if (!problems.isEmpty()) {
        throw Problem.all(problems);
      }
    }
  }
}

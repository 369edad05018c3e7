package org.tidemark.fhir;

import ca.uhn.fhir.context.FhirContext;
import ca.uhn.fhir.context.RuntimeSearchParam;
import ca.uhn.fhir.rest.api.RestSearchParameterTypeEnum;
import java.util.ArrayList;
import java.util.Collection;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.Set;
import java.util.concurrent.ConcurrentHashMap;
import org.hl7.fhir.r4.model.Base;
import org.hl7.fhir.r4.model.BaseDateTimeType;
import org.hl7.fhir.r4.model.CanonicalType;
import org.hl7.fhir.r4.model.CodeableConcept;
import org.hl7.fhir.r4.model.Coding;
import org.hl7.fhir.r4.model.Enumeration;
import org.hl7.fhir.r4.model.Identifier;
import org.hl7.fhir.r4.model.Period;
import org.hl7.fhir.r4.model.PrimitiveType;
import org.hl7.fhir.r4.model.Quantity;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.Resource;
import org.hl7.fhir.r4.model.Timing;
import org.hl7.fhir.r4.model.UriType;

/**
 * The search parameters that the service declares, and the values that a resource gives for them.
 *
 * <p>Definitions are the standard's own, as HAPI ships them; this class only chooses by name. The
 * paths are read once; extraction walks them without a FHIRPath engine, which is too slow to run
 * for each parameter of each Observation.
 */
public final class SearchParameters {
  private static final Set<String> DECLARED =
      Set.of(
          "patient",
          "subject",
          "code",
          "category",
          "date",
          "status",
          "identifier",
          "url",
          "version",
          "based-on",
          "replaces",
          "instantiates-canonical",
          "intent",
          "lifecycle-status",
          "authored",
          "authored-on",
          "recorded",
          "identified",
          "focus",
          "target",
          "activity-reference",
          "goal",
          "questionnaire",
          "definition");

  /** Declared for one type alone: other types have another meaning under the same name. */
  private static final Map<String, Set<String>> DECLARED_OF =
      Map.of(
          "Observation",
          Set.of("derived-from", "value-quantity"),
          "Group",
          Set.of("actual", "member", "type"),
          "DocumentReference",
          Set.of("type", "related", "relatesto"));

  /** The parameters that say when a record happened, the most telling first. */
  private static final List<String> HAPPENED =
      List.of("date", "authored", "authored-on", "recorded", "identified");

  /** The parameters that name a definition by its canonical, not a record by its address. */
  private static final Set<String> CANONICAL =
      Set.of("instantiates-canonical", "questionnaire", "definition");

  /** What kind of value a parameter takes. */
  public enum Form {
    /** A code, with or without its system. */
    TOKEN,
    /** A reference or canonical. */
    REFERENCE,
    /** A date, time or period. */
    DATE,
    /** A quantity, with or without its unit. */
    QUANTITY,
    /** A URI. */
    URI;

    /** Whether a result can be sorted by it. */
    public boolean isOrdered() {
      return this == TOKEN || this == DATE;
    }
  }

  /**
   * The modifiers that are offered, besides the types that a reference may point to.
   *
   * @param form the kind of value
   * @return the modifiers without their colon
   */
  public static List<String> modifiers(Form form) {
    return form == Form.TOKEN ? List.of("missing", "not") : List.of("missing");
  }

  /**
   * One declared parameter of one type.
   *
   * @param name its name in a query
   * @param form the kind of value
   * @param targets the types that a reference may point to; empty for any type
   * @param description the standard's description
   */
  public record Parameter(String name, Form form, Set<String> targets, String description) {

    /**
     * Whether it leads to records of a type.
     *
     * @param type the type
     * @return true when its values are references to records, and may name this type
     */
    public boolean leadsTo(String type) {
      return form == Form.REFERENCE
          && !CANONICAL.contains(name)
          && (targets.isEmpty() || targets.contains(type));
    }
  }

  private record Extracted(Parameter parameter, List<SearchPath> paths) {}

  /** Receives the values of a resource. */
  public interface Sink {
    /**
     * A coded value.
     *
     * @param parameter the parameter
     * @param system the code's system, empty when it has none
     * @param code the code
     */
    void token(String parameter, String system, String code);

    /**
     * A normalised reference, a canonical, or a URI.
     *
     * @param parameter the parameter
     * @param target the value
     */
    void uri(String parameter, String target);

    /**
     * A time.
     *
     * @param parameter the parameter
     * @param span what it covers
     */
    void span(String parameter, TimeSpan span);

    /**
     * A quantity.
     *
     * @param parameter the parameter
     * @param quantity what it is compared by
     */
    void quantity(String parameter, SearchedQuantity quantity);
  }

  private final FhirContext context;
  private final References references;
  private final Map<String, Map<String, Extracted>> byType = new ConcurrentHashMap<>();

  /**
   * The declared parameters.
   *
   * @param context HAPI's context for R4
   * @param references how references are normalised
   */
  public SearchParameters(FhirContext context, References references) {
    this.context = context;
    this.references = references;
  }

  /**
   * The parameters that a type has, besides {@code _id} and {@code _lastUpdated}.
   *
   * @param type a resource type
   * @return the parameters
   */
  public Collection<Parameter> of(String type) {
    return extracted(type).values().stream().map(Extracted::parameter).toList();
  }

  /**
   * One parameter of a type.
   *
   * @param type a resource type
   * @param name the parameter's name
   * @return the parameter, or empty when it is not declared for the type
   */
  public Optional<Parameter> find(String type, String name) {
    return Optional.ofNullable(extracted(type).get(name)).map(Extracted::parameter);
  }

  /**
   * The parameters, the most telling first, that say when a record of this type happened.
   *
   * @param type a resource type
   * @return their names; empty when only its last update is known
   */
  public List<String> happened(String type) {
    return HAPPENED.stream().filter(extracted(type)::containsKey).toList();
  }

  /**
   * Gives all values of a resource to a sink.
   *
   * @param resource the resource
   * @param sink receives each value
   */
  public void extract(Resource resource, Sink sink) {
    for (Extracted extracted : extracted(resource.fhirType()).values()) {
      for (SearchPath path : extracted.paths()) {
        path.values(resource).forEach(value -> give(extracted.parameter(), value, path, sink));
      }
    }
  }

  private void give(Parameter parameter, Base value, SearchPath path, Sink sink) {
    String name = parameter.name();
    switch (parameter.form()) {
      case TOKEN -> token(name, value, sink);
      case REFERENCE -> reference(name, value, path, sink);
      case URI -> {
        if (value instanceof PrimitiveType<?> uri && uri.hasValue()) {
          sink.uri(name, uri.getValueAsString());
        }
      }
      case DATE -> date(name, value, sink);
      case QUANTITY -> {
        if (value instanceof Quantity quantity) {
          SearchedQuantity.of(quantity).ifPresent(searched -> sink.quantity(name, searched));
        }
      }
    }
  }

  private static void token(String name, Base value, Sink sink) {
    if (value instanceof CodeableConcept concept) {
      concept.getCoding().forEach(coding -> token(name, coding, sink));
    } else if (value instanceof Coding coding && coding.hasCode()) {
      sink.token(name, text(coding.getSystem()), coding.getCode());
    } else if (value instanceof Identifier identifier && identifier.hasValue()) {
      sink.token(name, text(identifier.getSystem()), identifier.getValue());
    } else if (value instanceof Enumeration<?> code && code.hasValue()) {
      sink.token(name, text(code.getSystem()), code.getValueAsString());
    } else if (value instanceof PrimitiveType<?> primitive && primitive.hasValue()) {
      sink.token(name, "", primitive.getValueAsString());
    }
  }

  private void reference(String name, Base value, SearchPath path, Sink sink) {
    if (value instanceof Reference reference && reference.hasReference()) {
      String target = references.normal(reference.getReference());
      if (path.accepts(References.typeOf(target)) && !target.startsWith("#")) {
        sink.uri(name, target);
      }
    } else if (value instanceof CanonicalType || value instanceof UriType) {
      String canonical = text(((UriType) value).getValue());
      int version = canonical.indexOf('|');
      sink.uri(name, canonical);
      if (version > 0) {
        sink.uri(name, canonical.substring(0, version));
      }
    }
  }

  private static void date(String name, Base value, Sink sink) {
    if (value instanceof BaseDateTimeType time) {
      TimeSpan.of(time).ifPresent(span -> sink.span(name, span));
    } else if (value instanceof Period period) {
      TimeSpan.of(period).ifPresent(span -> sink.span(name, span));
    } else if (value instanceof Timing timing) {
      timing.getEvent().forEach(event -> date(name, event, sink));
      if (timing.getRepeat().hasBoundsPeriod()) {
        date(name, timing.getRepeat().getBoundsPeriod(), sink);
      }
    }
  }

  private static String text(String value) {
    return value == null ? "" : value;
  }

  private Map<String, Extracted> extracted(String type) {
    return byType.computeIfAbsent(type, this::read);
  }

  private Map<String, Extracted> read(String type) {
    Map<String, Extracted> parameters = new LinkedHashMap<>();
    for (RuntimeSearchParam param : context.getResourceDefinition(type).getSearchParams()) {
      form(param.getParamType())
          .filter(form -> isDeclared(type, param.getName()))
          .ifPresent(form -> parameters.put(param.getName(), read(type, param, form)));
    }
    return parameters;
  }

  private static boolean isDeclared(String type, String name) {
    return DECLARED.contains(name) || DECLARED_OF.getOrDefault(type, Set.of()).contains(name);
  }

  private static Extracted read(String type, RuntimeSearchParam param, Form form) {
    List<SearchPath> paths = new ArrayList<>();
    for (String path : param.getPathsSplitForResourceType(type)) {
      paths.add(SearchPath.read(type, path));
    }
    return new Extracted(
        new Parameter(
            param.getName(),
            form,
            form == Form.REFERENCE ? Set.copyOf(param.getTargets()) : Set.of(),
            param.getDescription()),
        List.copyOf(paths));
  }

  private static Optional<Form> form(RestSearchParameterTypeEnum type) {
    return switch (type) {
      case TOKEN -> Optional.of(Form.TOKEN);
      case REFERENCE -> Optional.of(Form.REFERENCE);
      case DATE -> Optional.of(Form.DATE);
      case URI -> Optional.of(Form.URI);
      case QUANTITY -> Optional.of(Form.QUANTITY);
      default -> Optional.empty();
    };
  }
}

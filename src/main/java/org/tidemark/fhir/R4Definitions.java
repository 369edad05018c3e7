package org.tidemark.fhir;

import ca.uhn.fhir.context.FhirContext;
import ca.uhn.fhir.context.support.DefaultProfileValidationSupport;
import ca.uhn.fhir.context.support.IValidationSupport;
import ca.uhn.fhir.parser.IParser;
import java.io.IOException;
import java.io.InputStream;
import java.io.UncheckedIOException;
import java.net.URLEncoder;
import java.nio.charset.StandardCharsets;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.List;
import java.util.Objects;
import java.util.Optional;
import java.util.Set;
import java.util.concurrent.ConcurrentHashMap;
import java.util.concurrent.ConcurrentMap;
import java.util.stream.Stream;
import org.hl7.fhir.instance.model.api.IBaseResource;
import org.hl7.fhir.r4.model.CodeSystem;
import org.hl7.fhir.r4.model.CodeSystem.ConceptDefinitionComponent;
import org.hl7.fhir.r4.model.Element;
import org.hl7.fhir.r4.model.ElementDefinition;
import org.hl7.fhir.r4.model.Enumerations.BindingStrength;
import org.hl7.fhir.r4.model.MetadataResource;
import org.hl7.fhir.r4.model.StructureDefinition;
import org.hl7.fhir.r4.model.StructureDefinition.StructureDefinitionKind;
import org.hl7.fhir.r4.model.StructureDefinition.TypeDerivationRule;
import org.hl7.fhir.r4.model.ValueSet;

/**
 * R4's own definitions as far as a check of instances needs them: structures with their snapshots,
 * code systems and value sets, without the prose for readers. The build writes each into a file of
 * its own, and the service reads those that are asked for: all of them, whole, would take most of
 * its memory.
 */
public final class R4Definitions implements IValidationSupport {
  private static final String FOLDER = "r4";

  /** The structures of all types, which a check asks for all at once. */
  private static final String TYPES = "types.ndjson";

  private static final String STRUCTURE = "http://hl7.org/fhir/StructureDefinition/";

  /** Extensions that change how an element is read or checked, not how it is shown. */
  private static final Set<String> KEPT_EXTENSIONS =
      Set.of(
          "http://hl7.org/fhir/StructureDefinition/structuredefinition-fhir-type",
          "http://hl7.org/fhir/StructureDefinition/regex",
          "http://hl7.org/fhir/StructureDefinition/elementdefinition-maxValueSet");

  /**
   * Rules that everything keeps which HAPI's parser has read: no element without content ({@code
   * ele-1}). It stands on every element.
   */
  private static final Set<String> CHECKED_BY_READING = Set.of("ele-1");

  private final FhirContext context;
  private final List<IBaseResource> types;
  private final ConcurrentMap<String, IBaseResource> asked = new ConcurrentHashMap<>();

  R4Definitions(FhirContext context) {
    this.context = context;
    this.types =
        text(TYPES)
            .orElseThrow(() -> new IllegalStateException("R4's definitions were not built"))
            .lines()
            .map(this::parsed)
            .toList();
    types.stream()
        .map(StructureDefinition.class::cast)
        .forEach(type -> asked.put(file(type.fhirType(), type.getUrl()), type));
  }

  @Override
  public FhirContext getFhirContext() {
    return context;
  }

  @Override
  public IBaseResource fetchStructureDefinition(String url) {
    return definition("StructureDefinition", url.indexOf(':') < 0 ? STRUCTURE + url : url);
  }

  @Override
  public IBaseResource fetchCodeSystem(String system) {
    return definition("CodeSystem", system);
  }

  @Override
  public IBaseResource fetchValueSet(String url) {
    return definition("ValueSet", url);
  }

  @Override
  @SuppressWarnings("unchecked")
  public <T extends IBaseResource> T fetchResource(Class<T> type, String url) {
    return type == null
        ? (T)
            Stream.of("StructureDefinition", "ValueSet", "CodeSystem")
                .map(kind -> definition(kind, url))
                .filter(Objects::nonNull)
                .findFirst()
                .orElse(null)
        : (T) definition(type.getSimpleName(), url);
  }

  @Override
  @SuppressWarnings("unchecked")
  public <T extends IBaseResource> List<T> fetchAllStructureDefinitions() {
    return (List<T>) types;
  }

  private IBaseResource definition(String type, String canonical) {
    int bar = canonical.indexOf('|');
    String file = file(type, bar < 0 ? canonical : canonical.substring(0, bar));
    IBaseResource known = asked.get(file);
    if (known != null) {
      return known;
    }
    return text(file).map(text -> asked.computeIfAbsent(file, f -> parsed(text))).orElse(null);
  }

  /** A definition, marked as the standard's own, which the validator asks about. */
  private IBaseResource parsed(String text) {
    IBaseResource definition = context.newJsonParser().parseResource(text);
    definition.setUserData(DefaultProfileValidationSupport.SOURCE_PACKAGE_ID, "hl7.fhir.r4.core");
    return definition;
  }

  private static Optional<String> text(String file) {
    try (InputStream stream = R4Definitions.class.getResourceAsStream(FOLDER + "/" + file)) {
      return stream == null
          ? Optional.empty()
          : Optional.of(new String(stream.readAllBytes(), StandardCharsets.UTF_8));
    } catch (IOException e) {
      throw new UncheckedIOException(e);
    }
  }

  private static String file(String type, String url) {
    return type + "-" + URLEncoder.encode(url, StandardCharsets.UTF_8) + ".json";
  }

  /**
   * Writes the definitions, as the build does, unless they have been written.
   *
   * @param arguments the folder of this class among the compiled classes
   * @throws IOException when they cannot be written
   */
  public static void main(String[] arguments) throws IOException {
    Path folder = Path.of(arguments[0], FOLDER);
    Path last = folder.resolve(TYPES);
    if (Files.exists(last)) {
      return;
    }
    Files.createDirectories(folder);
    FhirContext context = FhirContext.forR4Cached();
    IParser json = context.newJsonParser();
    List<String> types = new ArrayList<>();
    for (IBaseResource definition : all(context)) {
      if (definition instanceof MetadataResource known) {
        shorten(known);
        Files.writeString(
            folder.resolve(file(known.fhirType(), known.getUrl())),
            json.encodeResourceToString(known));
        if (known instanceof StructureDefinition structure && !isProfile(structure)) {
          types.add(json.encodeResourceToString(structure));
        }
      }
    }
    Files.write(last, types);
  }

  /** Of a resource or of an extension; those of data types are types of elements themselves. */
  private static boolean isProfile(StructureDefinition structure) {
    return structure.getDerivation() == TypeDerivationRule.CONSTRAINT
        && (structure.getKind() == StructureDefinitionKind.RESOURCE
            || structure.getType().equals("Extension"));
  }

  private static List<IBaseResource> all(FhirContext context) {
    DefaultProfileValidationSupport whole = new DefaultProfileValidationSupport(context);
    // Each kind is read when the first of it is asked for.
    whole.fetchAllStructureDefinitions();
    whole.fetchCodeSystem("http://hl7.org/fhir/administrative-gender");
    return Objects.requireNonNull(whole.fetchAllConformanceResources());
  }

  private static void shorten(MetadataResource definition) {
    definition.setText(null);
    definition.setMeta(null);
    definition.setExtension(null);
    definition.setDescription(null);
    definition.setPublisher(null);
    definition.setContact(null);
    definition.setUseContext(null);
    definition.setJurisdiction(null);
    if (definition instanceof StructureDefinition structure) {
      shorten(structure);
    } else if (definition instanceof CodeSystem codes) {
      codes.setPurpose(null).setCopyright(null).setIdentifier(null);
      shorten(codes.getConcept());
    } else if (definition instanceof ValueSet set) {
      set.setPurpose(null).setCopyright(null).setIdentifier(null);
    }
  }

  private static void shorten(List<ConceptDefinitionComponent> concepts) {
    for (ConceptDefinitionComponent concept : concepts) {
      concept.setDefinition(null).setDesignation(null).setProperty(null).setExtension(null);
      shorten(concept.getConcept());
    }
  }

  private static void shorten(StructureDefinition structure) {
    structure.setPurpose(null).setCopyright(null).setKeyword(null).setMapping(null);
    structure.setIdentifier(null).setDifferential(null);
    structure.getSnapshot().getElement().forEach(R4Definitions::shorten);
  }

  private static void shorten(ElementDefinition element) {
    element.setShort(null).setDefinition(null).setComment(null).setRequirements(null);
    element.setAlias(null).setMapping(null).setExample(null).setCode(null);
    element.setOrderMeaning(null).setMeaningWhenMissing(null).setIsModifierReason(null);
    element.setIsSummaryElement(null);
    element.getConstraint().removeIf(rule -> CHECKED_BY_READING.contains(rule.getKey()));
    element.getConstraint().forEach(rule -> rule.setXpath(null).setRequirements(null));
    dropExtensions(element);
    element.getType().forEach(R4Definitions::dropExtensions);
    if (element.hasBinding()) {
      element.getBinding().setDescription(null);
      dropExtensions(element.getBinding());
      BindingStrength strength = element.getBinding().getStrength();
      if (strength == BindingStrength.EXAMPLE || strength == BindingStrength.PREFERRED) {
        element.setBinding(null);
      }
    }
  }

  private static void dropExtensions(Element element) {
    element.getExtension().removeIf(extension -> !KEPT_EXTENSIONS.contains(extension.getUrl()));
  }
}

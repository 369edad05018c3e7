package org.tidemark.fhir;

import ca.uhn.fhir.context.FhirContext;
import ca.uhn.fhir.context.PerformanceOptionsEnum;
import ca.uhn.fhir.context.support.IValidationSupport;
import ca.uhn.fhir.validation.FhirValidator;
import ca.uhn.fhir.validation.SingleValidationMessage;
import ca.uhn.fhir.validation.ValidationOptions;
import java.util.Collection;
import java.util.List;
import java.util.Optional;
import org.hl7.fhir.common.hapi.validation.support.CommonCodeSystemsTerminologyService;
import org.hl7.fhir.common.hapi.validation.support.InMemoryTerminologyServerValidationSupport;
import org.hl7.fhir.common.hapi.validation.support.PrePopulatedValidationSupport;
import org.hl7.fhir.common.hapi.validation.support.SnapshotGeneratingValidationSupport;
import org.hl7.fhir.common.hapi.validation.support.ValidationSupportChain;
import org.hl7.fhir.common.hapi.validation.validator.FhirInstanceValidator;
import org.hl7.fhir.common.hapi.validation.validator.WorkerContextValidationSupportAdapter;
import org.hl7.fhir.r4.model.CanonicalType;
import org.hl7.fhir.r4.model.MetadataResource;
import org.hl7.fhir.r4.model.OperationOutcome.IssueSeverity;
import org.hl7.fhir.r4.model.Resource;
import org.hl7.fhir.r5.utils.validation.constants.BestPracticeWarningLevel;

/**
 * Checks resources against the whole of R4 and the profiles that they claim: bindings, invariants,
 * profiles and narrative, beyond what {@link BodyCheck} sees. The code systems of others (LOINC,
 * SNOMED CT) are not loaded: their codes are warned about, not refused. Extensions and profiles of
 * others are let through.
 *
 * <p>A check takes some ten milliseconds. The first takes a second or two and some 50 MB, for R4's
 * definitions.
 */
public final class RecordCheck {
  /** A comment that names what is contained, and the type of a choice: not part of our paths. */
  private static final String BESIDE_THE_PATH = "/\\*.*?\\*/|\\.ofType\\(\\w+\\)";

  private final IValidationSupport support;
  private final FhirValidator validator;

  /**
   * What the check found.
   *
   * @param severity error or fatal when the resource is not valid
   * @param text a sentence for the person who reads it
   * @param expression FHIRPath of the element
   */
  public record Finding(IssueSeverity severity, String text, String expression) {
    /** Whether it makes the resource invalid. */
    public boolean isError() {
      return severity == IssueSeverity.ERROR || severity == IssueSeverity.FATAL;
    }
  }

  /**
   * A check.
   *
   * @param context HAPI's context for R4
   * @param definitions our profiles, extensions, code systems and value sets
   */
  public RecordCheck(FhirContext context, Collection<? extends MetadataResource> definitions) {
    this(context, definitions, new R4Definitions(context));
  }

  RecordCheck(
      FhirContext context,
      Collection<? extends MetadataResource> definitions,
      IValidationSupport standard) {
    // The validator's own model of R5, of which it needs a handful of types.
    WorkerContextValidationSupportAdapter.FHIR_CONTEXT_R5.setPerformanceOptions(
        PerformanceOptionsEnum.DEFERRED_MODEL_SCANNING);
    PrePopulatedValidationSupport own = new PrePopulatedValidationSupport(context);
    definitions.forEach(own::addResource);
    support =
        new ValidationSupportChain(
            own,
            standard,
            new CommonCodeSystemsTerminologyService(context),
            new InMemoryTerminologyServerValidationSupport(context),
            new SnapshotGeneratingValidationSupport(context));
    FhirInstanceValidator instances = new FhirInstanceValidator(support);
    instances.setAnyExtensionsAllowed(true);
    instances.setErrorForUnknownProfiles(false);
    instances.setNoExtensibleWarnings(true);
    instances.setBestPracticeWarningLevel(BestPracticeWarningLevel.Ignore);
    validator = context.newValidator().registerValidatorModule(instances);
  }

  /**
   * Whether a profile is known here: R4's or ours.
   *
   * @param canonical its canonical address, with or without its version
   */
  public boolean isKnown(String canonical) {
    int bar = canonical.indexOf('|');
    return support.fetchStructureDefinition(bar < 0 ? canonical : canonical.substring(0, bar))
        != null;
  }

  /**
   * Whether a resource claims a profile that is known here.
   *
   * @param resource the resource
   */
  public boolean claimsKnownProfile(Resource resource) {
    return resource.getMeta().getProfile().stream()
        .map(CanonicalType::getValue)
        .anyMatch(this::isKnown);
  }

  /**
   * Checks a resource.
   *
   * @param resource the resource
   * @param profile a profile that it must fit beside those that it claims
   * @return all that was found, warnings and hints too
   */
  public List<Finding> check(Resource resource, Optional<String> profile) {
    ValidationOptions options = new ValidationOptions();
    profile.ifPresent(options::addProfile);
    return validator.validateWithResult(resource, options).getMessages().stream()
        .map(RecordCheck::finding)
        .toList();
  }

  private static Finding finding(SingleValidationMessage message) {
    String location = message.getLocationString();
    return new Finding(
        IssueSeverity.fromCode(message.getSeverity().getCode()),
        message.getMessage(),
        location == null ? "" : location.replaceAll(BESIDE_THE_PATH, ""));
  }
}

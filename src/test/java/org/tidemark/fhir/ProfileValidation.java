package org.tidemark.fhir;

import ca.uhn.fhir.context.support.DefaultProfileValidationSupport;
import ca.uhn.fhir.validation.FhirValidator;
import ca.uhn.fhir.validation.ResultSeverityEnum;
import ca.uhn.fhir.validation.SingleValidationMessage;
import ca.uhn.fhir.validation.ValidationOptions;
import java.util.List;
import org.hl7.fhir.common.hapi.validation.support.CommonCodeSystemsTerminologyService;
import org.hl7.fhir.common.hapi.validation.support.InMemoryTerminologyServerValidationSupport;
import org.hl7.fhir.common.hapi.validation.support.PrePopulatedValidationSupport;
import org.hl7.fhir.common.hapi.validation.support.SnapshotGeneratingValidationSupport;
import org.hl7.fhir.common.hapi.validation.support.ValidationSupportChain;
import org.hl7.fhir.common.hapi.validation.validator.FhirInstanceValidator;
import org.hl7.fhir.r4.model.Resource;

/** Validates resources against FHIR R4 and the profiles of {@code fhir-profiles}. */
public final class ProfileValidation {
  private static final FhirValidator VALIDATOR = validator();

  private ProfileValidation() {}

  /**
   * What is wrong with a resource, as {@code element: message}; empty when it is valid.
   *
   * @param resource the resource
   * @param profileUrls the profiles it must fit beside those it claims in its meta
   */
  public static List<String> errors(Resource resource, String... profileUrls) {
    ValidationOptions options = new ValidationOptions();
    for (String url : profileUrls) {
      options.addProfile(url);
    }
    return VALIDATOR
        .validateWithResult(
            ProfileFiles.R4.newJsonParser().encodeResourceToString(resource), options)
        .getMessages()
        .stream()
        .filter(message -> message.getSeverity().ordinal() >= ResultSeverityEnum.ERROR.ordinal())
        .map(ProfileValidation::line)
        .toList();
  }

  private static String line(SingleValidationMessage message) {
    return message.getLocationString() + ": " + message.getMessage();
  }

  private static FhirValidator validator() {
    PrePopulatedValidationSupport own = new PrePopulatedValidationSupport(ProfileFiles.R4);
    ProfileFiles.all().values().forEach(own::addResource);
    ValidationSupportChain chain =
        new ValidationSupportChain(
            own,
            new DefaultProfileValidationSupport(ProfileFiles.R4),
            new CommonCodeSystemsTerminologyService(ProfileFiles.R4),
            new InMemoryTerminologyServerValidationSupport(ProfileFiles.R4),
            new SnapshotGeneratingValidationSupport(ProfileFiles.R4));
    FhirInstanceValidator instances = new FhirInstanceValidator(chain);
    instances.setAnyExtensionsAllowed(false);
    // Not part of R4; QuestionnairesTest checks how our forms use its extensions.
    instances.setCustomExtensionDomains("http://hl7.org/fhir/uv/sdc/");
    return ProfileFiles.R4.newValidator().registerValidatorModule(instances);
  }
}

package org.tidemark.fhir;

import ca.uhn.fhir.context.support.DefaultProfileValidationSupport;
import ca.uhn.fhir.context.support.IValidationSupport;
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
import org.hl7.fhir.r4.model.StructureDefinition;

/** Validates resources against FHIR R4 and the profiles of {@code fhir-profiles}. */
public final class ProfileValidation {
  private static final Checked OURS = against(ours());

  private ProfileValidation() {}

  /**
   * What is wrong with a resource, as {@code element: message}; empty when it is valid.
   *
   * @param resource the resource
   * @param profileUrls the profiles it must fit beside those it claims in its meta
   */
  public static List<String> errors(Resource resource, String... profileUrls) {
    return OURS.errors(resource, profileUrls);
  }

  /** Resources checked against R4 and some definitions. */
  public static final class Checked {
    private final FhirValidator validator;

    private Checked(FhirValidator validator) {
      this.validator = validator;
    }

    /** What is wrong with a resource. */
    public List<String> errors(Resource resource, String... profileUrls) {
      ValidationOptions options = new ValidationOptions();
      for (String url : profileUrls) {
        options.addProfile(url);
      }
      return validator
          .validateWithResult(
              ProfileFiles.R4.newJsonParser().encodeResourceToString(resource), options)
          .getMessages()
          .stream()
          .filter(message -> message.getSeverity().ordinal() >= ResultSeverityEnum.ERROR.ordinal())
          .map(ProfileValidation::line)
          .toList();
    }
  }

  /**
   * The same artefact, for the validator: it looks up elements named as contexts in a package that
   * it fetches from the network, so these are checked by {@link
   * ProfilesTest#everyContextOfAnExtensionIsAnElementOfR4} instead.
   */
  static Resource withoutElementContexts(Resource resource) {
    if (resource instanceof StructureDefinition definition && definition.hasContext()) {
      StructureDefinition copy = definition.copy();
      copy.getContext().clear();
      copy.addContext()
          .setType(StructureDefinition.ExtensionContextType.FHIRPATH)
          .setExpression("Resource");
      return copy;
    }
    return resource;
  }

  private static String line(SingleValidationMessage message) {
    return message.getLocationString() + ": " + message.getMessage();
  }

  private static IValidationSupport ours() {
    PrePopulatedValidationSupport own = new PrePopulatedValidationSupport(ProfileFiles.R4);
    ProfileFiles.all().values().forEach(own::addResource);
    return own;
  }

  /** A check against R4 and these definitions. */
  static Checked against(IValidationSupport own) {
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
    instances.setCustomExtensionDomains(
        "http://hl7.org/fhir/uv/sdc/", "http://hl7.org/fhir/uv/subscriptions-backport/");
    return new Checked(ProfileFiles.R4.newValidator().registerValidatorModule(instances));
  }
}

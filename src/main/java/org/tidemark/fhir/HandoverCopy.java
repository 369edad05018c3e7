package org.tidemark.fhir;

import java.util.Optional;
import java.util.function.Function;
import java.util.regex.Matcher;
import java.util.regex.Pattern;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.DocumentReference;
import org.hl7.fhir.r4.model.Identifier;
import org.hl7.fhir.r4.model.MetadataResource;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.Resource;

/** Makes a record of another clinic one that can be kept here. */
public final class HandoverCopy {
  private static final Pattern VERSIONED = Pattern.compile("(.+)/_history/([^/]+)");

  private HandoverCopy() {}

  /**
   * Lets a copy say where it comes from: by its identifier, where its type has one and it is no
   * definition, and by its source.
   *
   * @param issuer the base address of the clinic, without a slash at the end
   * @param id its id there
   */
  public static void mark(Resource copy, String issuer, String id) {
    copy.getMeta().setSource(issuer + "/" + copy.fhirType() + "/" + id);
    if (copy instanceof MetadataResource || copy.getNamedProperty("identifier") == null) {
      return;
    }
    boolean known =
        copy.getNamedProperty("identifier").getValues().stream()
            .map(Identifier.class::cast)
            .anyMatch(i -> system(issuer, copy).equals(i.getSystem()) && id.equals(i.getValue()));
    if (!known) {
      Identifier identifier = (Identifier) copy.addChild("identifier");
      identifier.setSystem(system(issuer, copy)).setValue(id);
    }
  }

  /** The system of the identifiers that a clinic's records have elsewhere: type by type. */
  public static String system(String issuer, Resource record) {
    return issuer + "/" + record.fhirType();
  }

  /** A plan that was received says which plan it goes on from. */
  public static void continues(CarePlan copy, String issuer, String id) {
    copy.addReplaces(new Reference(issuer + "/CarePlan/" + id));
  }

  /**
   * Makes every reference point to what it means here.
   *
   * @param issuer the base address of the clinic, without a slash at the end
   * @param here the reference here to a record of that clinic, given its normal reference there and
   *     the version that is meant, or empty when the record in that version is only there
   */
  public static void redirect(
      Resource copy, String issuer, Function<Target, Optional<String>> here) {
    ReferenceWalk.each(
        copy,
        (path, reference) -> {
          reference.setResource(null);
          reference.setReference(redirected(reference.getReference(), issuer, here));
        });
    if (copy instanceof DocumentReference paper) {
      paper.getContent().stream()
          .map(content -> content.getAttachment())
          .filter(attachment -> attachment.hasUrl())
          .forEach(attachment -> attachment.setUrl(redirected(attachment.getUrl(), issuer, here)));
    }
  }

  /**
   * What a reference means.
   *
   * @param reference {@code Type/id}
   * @param version the version that is meant, empty for the current one
   */
  public record Target(String reference, Optional<String> version) {}

  private static String redirected(
      String text, String issuer, Function<Target, Optional<String>> here) {
    String relative = text.startsWith(issuer + "/") ? text.substring(issuer.length() + 1) : text;
    Matcher versioned = VERSIONED.matcher(relative);
    Target target =
        versioned.matches()
            ? new Target(versioned.group(1), Optional.of(versioned.group(2)))
            : new Target(relative, Optional.empty());
    if (!References.isLocal(target.reference())) {
      return text;
    }
    return here.apply(target).orElse(issuer + "/" + relative);
  }
}

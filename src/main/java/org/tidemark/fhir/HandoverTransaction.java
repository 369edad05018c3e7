package org.tidemark.fhir;

import java.nio.charset.StandardCharsets;
import java.util.HashMap;
import java.util.Map;
import java.util.Optional;
import java.util.UUID;
import org.hl7.fhir.r4.model.Binary;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.Bundle.BundleEntryComponent;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.Composition;
import org.hl7.fhir.r4.model.DocumentReference;
import org.hl7.fhir.r4.model.DomainResource;
import org.hl7.fhir.r4.model.Meta;
import org.hl7.fhir.r4.model.MetadataResource;
import org.hl7.fhir.r4.model.Resource;

/**
 * The content of a document as a transaction that any R4 server can carry out: each record is
 * created unless one with its identifier is there, so that a second sending adds nothing but the
 * Provenances, which have no identifier in R4. PDFs lie in their DocumentReferences.
 */
public final class HandoverTransaction {
  private final String issuer;
  private final Map<String, Binary> files = new HashMap<>();
  private final Map<String, String> urns = new HashMap<>();

  private HandoverTransaction(String issuer) {
    this.issuer = issuer;
  }

  /** The transaction of a document. */
  public static Bundle of(Bundle document) {
    return new HandoverTransaction(document.getIdentifier().getSystem()).write(document);
  }

  private Bundle write(Bundle document) {
    for (BundleEntryComponent entry : document.getEntry()) {
      String reference = reference(entry.getResource());
      if (entry.getResource() instanceof Binary file) {
        files.put(reference, file);
      } else {
        urns.put(reference, urn(entry.getFullUrl()));
      }
    }
    Bundle transaction = new Bundle().setType(Bundle.BundleType.TRANSACTION);
    document.getEntry().stream()
        .map(BundleEntryComponent::getResource)
        .filter(resource -> !(resource instanceof Binary))
        .forEach(resource -> entry(transaction, resource));
    return transaction;
  }

  private void entry(Bundle transaction, Resource resource) {
    String id = resource.getIdElement().getIdPart();
    Resource copy = resource.copy();
    if (copy instanceof DocumentReference paper) {
      paper.getContent().forEach(content -> embed(content.getAttachment()));
    }
    if (copy instanceof Composition composition) {
      composition
          .getSection()
          .forEach(s -> s.getEntry().removeIf(e -> files.containsKey(e.getReference())));
    }
    HandoverCopy.redirect(
        copy, issuer, target -> Optional.ofNullable(urns.get(target.reference())));
    HandoverCopy.mark(copy, issuer, id);
    copy.setId((String) null);
    Meta meta = new Meta();
    copy.getMeta().getProfile().forEach(profile -> meta.addProfile(profile.getValue()));
    copy.setMeta(meta.setSource(copy.getMeta().getSource()));
    if (copy instanceof CarePlan plan) {
      plan.getExtension().removeIf(e -> e.getUrl().equals(HandoverFacts.RUNNING));
    }
    if (copy instanceof DomainResource told) {
      told.getExtension().removeIf(e -> e.getUrl().equals(HandoverFacts.FACT));
    }
    BundleEntryComponent entry = transaction.addEntry();
    entry.setFullUrl(urns.get(reference(resource))).setResource(copy);
    entry.getRequest().setMethod(Bundle.HTTPVerb.POST).setUrl(copy.fhirType());
    condition(copy, id).ifPresent(entry.getRequest()::setIfNoneExist);
  }

  private void embed(org.hl7.fhir.r4.model.Attachment attachment) {
    Binary file = files.get(attachment.getUrl());
    if (file != null) {
      attachment.setData(file.getData()).setUrl(null);
    }
  }

  private Optional<String> condition(Resource copy, String id) {
    if (copy instanceof MetadataResource definition) {
      return Optional.of("url=" + definition.getUrl() + "&version=" + definition.getVersion());
    }
    return copy.getNamedProperty("identifier") == null
        ? Optional.empty()
        : Optional.of("identifier=" + HandoverCopy.system(issuer, copy) + "|" + id);
  }

  private static String reference(Resource resource) {
    return resource.fhirType() + "/" + resource.getIdElement().getIdPart();
  }

  private static String urn(String fullUrl) {
    return "urn:uuid:" + UUID.nameUUIDFromBytes(fullUrl.getBytes(StandardCharsets.UTF_8));
  }
}

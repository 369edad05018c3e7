package org.tidemark.fhir;

import java.util.LinkedHashSet;
import java.util.Set;
import org.hl7.fhir.r4.model.Base;
import org.hl7.fhir.r4.model.CanonicalType;
import org.hl7.fhir.r4.model.Meta;
import org.hl7.fhir.r4.model.Property;
import org.hl7.fhir.r4.model.Resource;

/**
 * What a resource refers to, also in extensions and contained resources. The profiles that it
 * claims are not part of it.
 *
 * @param records records of ours, as {@code Type/id}
 * @param definitions canonicals, with their version where it is told
 */
public record Referred(Set<String> records, Set<String> definitions) {

  /**
   * Collects what a resource refers to.
   *
   * @param resource where to look
   * @param references how references are normalised
   */
  public static Referred by(Resource resource, References references) {
    Referred referred = new Referred(new LinkedHashSet<>(), new LinkedHashSet<>());
    ReferenceWalk.each(
        resource,
        (path, reference) -> {
          String target = references.normal(reference.getReference());
          if (References.isLocal(target)) {
            referred.records.add(target);
          }
        });
    referred.collectDefinitions(resource);
    return referred;
  }

  private void collectDefinitions(Base at) {
    if (at instanceof CanonicalType canonical && canonical.hasValue()) {
      definitions.add(canonical.getValue());
    } else if (!(at instanceof Meta)) {
      at.children().stream()
          .filter(Property::hasValues)
          .flatMap(property -> property.getValues().stream())
          .forEach(this::collectDefinitions);
    }
  }
}

package org.tidemark.fhir;

import java.util.ArrayList;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.Bundle.BundleEntryComponent;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.Composition;
import org.hl7.fhir.r4.model.Composition.SectionComponent;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.Resource;

/**
 * A document that hands a plan over, read and found whole.
 *
 * @param issuer the base address of the clinic that wrote it, without a slash at the end
 * @param identifier what tells it from other documents of that clinic
 * @param plan the CarePlan
 * @param records every record with its place in the Bundle, the CarePlan among them, by its normal
 *     reference
 */
public record HandedOver(
    String issuer, String identifier, CarePlan plan, Map<String, Placed> records) {

  /**
   * A record in its place.
   *
   * @param index its place in the Bundle, from 0
   * @param resource the record
   */
  public record Placed(int index, Resource resource) {
    /** Its version there, 1 or more. */
    public long version() {
      return Long.parseLong(resource.getMeta().getVersionId());
    }
  }

  /**
   * Reads a document.
   *
   * @throws Problem when it is no document, or something that it names is missing; all that is
   *     found is told at once
   */
  public static HandedOver read(Bundle document) {
    return new Reading(document).read();
  }

  private static final class Reading {
    private final Bundle document;
    private final List<Problem> problems = new ArrayList<>();
    private final Map<String, Placed> records = new LinkedHashMap<>();
    private final String issuer;

    Reading(Bundle document) {
      this.document = document;
      this.issuer = document.getIdentifier().getSystem();
    }

    /** R4's rules for a document: bdl-9 to bdl-11, bdl-7, and what our own documents have. */
    private HandedOver read() {
      require(
          document.getType() == Bundle.BundleType.DOCUMENT,
          Problem.Kind.INVALID_VALUE,
          "A plan is handed over as a document.",
          "Bundle.type");
      require(
          issuer != null && document.getIdentifier().hasValue(),
          Problem.Kind.MISSING,
          "A document has an identifier with system and value.",
          "Bundle.identifier");
      require(
          document.hasTimestamp(),
          Problem.Kind.MISSING,
          "A document says when it was written.",
          "Bundle.timestamp");
      require(
          document.getEntryFirstRep().getResource() instanceof Composition,
          Problem.Kind.MISSING,
          "A document begins with its Composition.",
          "Bundle.entry[0].resource");
      stopIfWrong();
      for (int i = 1; i < document.getEntry().size(); i++) {
        place(i, document.getEntry().get(i));
      }
      List<CarePlan> plans =
          records.values().stream()
              .map(Placed::resource)
              .filter(CarePlan.class::isInstance)
              .map(CarePlan.class::cast)
              .toList();
      require(
          plans.size() == 1,
          Problem.Kind.MISSING,
          "A document hands one CarePlan over; this one has " + plans.size() + ".",
          "Bundle.entry");
      Composition composition = (Composition) document.getEntryFirstRep().getResource();
      requirePresent(composition.getSubject(), "Bundle.entry[0].resource.subject");
      sections(composition.getSection(), "Bundle.entry[0].resource");
      stopIfWrong();
      return new HandedOver(
          issuer, document.getIdentifier().getValue(), plans.get(0), Map.copyOf(records));
    }

    private void place(int index, BundleEntryComponent entry) {
      String at = "Bundle.entry[" + index + "]";
      Resource resource = entry.getResource();
      if (resource == null || !HandoverSection.takes(resource.fhirType())) {
        problems.add(
            Problem.of(
                Problem.Kind.UNSUPPORTED, "Such a record is not handed over.", at + ".resource"));
        return;
      }
      String reference = resource.fhirType() + "/" + resource.getIdElement().getIdPart();
      require(
          (issuer + "/" + reference).equals(entry.getFullUrl()),
          Problem.Kind.NOT_VALID,
          "The record's address is that of the clinic that issues the document, with its type and"
              + " id.",
          at + ".fullUrl");
      String version = resource.getMeta().getVersionId();
      require(
          version != null && version.matches("[1-9][0-9]{0,17}"),
          Problem.Kind.MISSING,
          "A record is handed over in a version.",
          at + ".resource.meta.versionId");
      require(
          records.put(reference, new Placed(index, resource)) == null,
          Problem.Kind.DUPLICATE,
          "The same record is handed over twice.",
          at + ".fullUrl");
    }

    private void sections(List<SectionComponent> sections, String parent) {
      for (int i = 0; i < sections.size(); i++) {
        String at = parent + ".section[" + i + "]";
        List<Reference> entries = sections.get(i).getEntry();
        for (int j = 0; j < entries.size(); j++) {
          requirePresent(entries.get(j), at + ".entry[" + j + "]");
        }
        sections(sections.get(i).getSection(), at);
      }
    }

    private void requirePresent(Reference reference, String path) {
      String target = reference.getReference();
      boolean elsewhere = target != null && !References.isLocal(target);
      require(
          elsewhere || records.containsKey(target),
          Problem.Kind.MISSING,
          "The document names " + target + " and does not hold it.",
          path);
    }

    private void require(boolean holds, Problem.Kind kind, String text, String path) {
      if (!holds) {
        problems.add(Problem.of(kind, text, path));
      }
    }

    private void stopIfWrong() {
      if (!problems.isEmpty()) {
        throw Problem.all(problems);
      }
    }
  }
}

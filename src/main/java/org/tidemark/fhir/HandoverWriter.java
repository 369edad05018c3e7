package org.tidemark.fhir;

import java.time.OffsetDateTime;
import java.util.Date;
import java.util.List;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.Composition;
import org.hl7.fhir.r4.model.Composition.CompositionStatus;
import org.hl7.fhir.r4.model.Composition.SectionComponent;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.Resource;

/**
 * Writes the document that hands a plan over to another clinic: a Composition whose sections tell
 * all of it in words, and every record that the plan rests on.
 */
public final class HandoverWriter {
  /** "Plan of care note", as the International Patient Summary uses it. */
  private static final String PLAN_OF_CARE = "18776-5";

  private HandoverWriter() {}

  record HandoverSaid(String title, String clinic, String at) {}

  record SectionSaid(List<String> records) {}

  /**
   * A document, not yet signed.
   *
   * @param plan whose plan it is, in the language of the document
   * @param clinic the name of the clinic that hands it over
   * @param records every record, each once, the CarePlan among them
   * @param base the base address of the server, with a slash at the end
   * @param identifier what tells this document from others of the server; the same for the same
   *     content
   * @param now when it is written
   */
  public static Bundle document(
      PlanIdentity plan,
      String clinic,
      List<Resource> records,
      String base,
      String identifier,
      OffsetDateTime now) {
    Bundle document = new Bundle();
    document.setType(Bundle.BundleType.DOCUMENT);
    document.getIdentifier().setSystem(issuer(base)).setValue(identifier);
    document.setTimestamp(Date.from(now.toInstant()));
    entry(document, composition(plan, clinic, records, now), base);
    records.forEach(record -> entry(document, record, base));
    return document;
  }

  /** The server as one that issues documents: its base address without the slash. */
  public static String issuer(String base) {
    return base.endsWith("/") ? base.substring(0, base.length() - 1) : base;
  }

  static void entry(Bundle document, Resource resource, String base) {
    document
        .addEntry()
        .setFullUrl(base + resource.fhirType() + "/" + resource.getIdPart())
        .setResource(resource);
  }

  private static Composition composition(
      PlanIdentity plan, String clinic, List<Resource> records, OffsetDateTime now) {
    Texts texts = plan.texts();
    Composition composition = new Composition();
    composition.setId("Composition/" + plan.planId());
    composition.setLanguage(plan.language().toLanguageTag());
    composition.setText(
        NarrativePage.HANDOVER.narrative(
            texts, new HandoverSaid(PlanText.title(plan), clinic, texts.time(now))));
    composition.setStatus(CompositionStatus.FINAL);
    composition.setType(Codes.concept(Codes.LOINC, PLAN_OF_CARE, "Plan of care note"));
    composition.setSubject(new Reference(plan.subject()));
    composition.setDateElement(DateTimes.dateTime(now));
    composition.addAuthor(new Reference(plan.engineDevice()));
    composition.addAuthor(new Reference(plan.organisation()));
    composition.setCustodian(new Reference(plan.organisation()));
    composition.setTitle(texts.of("handover.title", PlanText.title(plan)));
    for (HandoverSection section : HandoverSection.values()) {
      List<Resource> inside =
          records.stream().filter(record -> HandoverSection.of(record) == section).toList();
      if (!inside.isEmpty()) {
        composition.addSection(section(texts, section, inside));
      }
    }
    return composition;
  }

  private static SectionComponent section(
      Texts texts, HandoverSection section, List<Resource> records) {
    SectionComponent written = new SectionComponent();
    written.setTitle(section.title(texts));
    List<Resource> told = records;
    if (section == HandoverSection.PLAN) {
      CarePlan plan = (CarePlan) records.get(0);
      SectionComponent own = written.addSection();
      own.setTitle(texts.of("handover.section.now"));
      own.setText(plan.getText().copy());
      own.addEntry(new Reference("CarePlan/" + plan.getIdPart()));
      told = records.subList(1, records.size());
    }
    HandoverText words = new HandoverText(texts);
    if (!told.isEmpty()) {
      written.setText(
          NarrativePage.SECTION.narrative(
              texts, new SectionSaid(told.stream().map(words::line).toList())));
    }
    told.forEach(
        record -> written.addEntry(new Reference(record.fhirType() + "/" + record.getIdPart())));
    return written;
  }
}

package org.tidemark.fhir;

import java.time.OffsetDateTime;
import java.util.ArrayList;
import java.util.Date;
import java.util.List;
import java.util.Set;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.Composition;
import org.hl7.fhir.r4.model.Composition.CompositionStatus;
import org.hl7.fhir.r4.model.Composition.SectionComponent;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.Resource;

/**
 * Writes a summary of a person in the manner of the International Patient Summary: a document with
 * its sections and their codes. The sections that it requires are there also where nothing is kept
 * that belongs into them, and say so. Source: HL7 International Patient Summary 2.0, Composition.
 */
public final class SummaryWriter {
  private static final String EMPTY_REASON =
      "http://terminology.hl7.org/CodeSystem/list-empty-reason";

  /** The sections, in their order, with what lies in each; no type for what is never kept here. */
  private enum Section {
    PROBLEMS("11450-4", "Problem list - Reported", "Condition"),
    ALLERGIES("48765-2", "Allergies and adverse reactions Document"),
    MEDICATIONS("10160-0", "History of Medication use Narrative"),
    ALERTS("104605-1", "Alert", "Flag"),
    RESULTS("30954-2", "Relevant diagnostic tests/laboratory data note", "Observation"),
    PLAN("18776-5", "Plan of care note", "CarePlan", "Goal", "ServiceRequest");

    private static final Set<Section> REQUIRED = Set.of(PROBLEMS, ALLERGIES, MEDICATIONS);

    private final String code;
    private final String display;
    private final List<String> types;

    Section(String code, String display, String... types) {
      this.code = code;
      this.display = display;
      this.types = List.of(types);
    }

    private String key() {
      return "summary.section." + name().toLowerCase(java.util.Locale.ROOT);
    }
  }

  private SummaryWriter() {}

  /**
   * A document.
   *
   * @param texts its language
   * @param person the person, by reference
   * @param authors who speaks: the clinic first, each by reference
   * @param records every record, each once, those of the person and the authors among them
   * @param base the base address of the server, with a slash at the end
   * @param id what tells this document from others
   * @param now when it is written
   */
  public static Bundle document(
      Texts texts,
      String person,
      List<String> authors,
      List<Resource> records,
      String base,
      String id,
      OffsetDateTime now) {
    Composition composition = new Composition();
    composition.setId("Composition/" + id);
    composition.setLanguage(texts.language());
    composition.setStatus(CompositionStatus.FINAL);
    composition.setType(Codes.concept(Codes.LOINC, "60591-5", "Patient summary Document"));
    composition.setSubject(new Reference(person));
    composition.setDateElement(DateTimes.dateTime(now));
    authors.forEach(author -> composition.addAuthor(new Reference(author)));
    composition.setCustodian(new Reference(authors.get(0)));
    composition.setTitle(texts.of("summary.title"));
    for (Section section : Section.values()) {
      List<Resource> inside =
          records.stream().filter(record -> section.types.contains(record.fhirType())).toList();
      if (!inside.isEmpty() || Section.REQUIRED.contains(section)) {
        composition.addSection(section(texts, section, inside));
      }
    }
    Bundle document = new Bundle().setType(Bundle.BundleType.DOCUMENT);
    document.getIdentifier().setSystem(HandoverWriter.issuer(base)).setValue(id);
    document.setTimestamp(Date.from(now.toInstant()));
    HandoverWriter.entry(document, composition, base);
    records.forEach(record -> HandoverWriter.entry(document, record, base));
    return document;
  }

  private static SectionComponent section(Texts texts, Section section, List<Resource> records) {
    SectionComponent written = new SectionComponent();
    written.setTitle(texts.of(section.key()));
    written.setCode(Codes.concept(Codes.LOINC, section.code, section.display));
    if (records.isEmpty()) {
      written.setEmptyReason(Codes.concept(EMPTY_REASON, "unavailable", "Unavailable"));
    }
    HandoverText words = new HandoverText(texts);
    List<String> lines = new ArrayList<>();
    for (Resource record : records) {
      written.addEntry(new Reference(record.fhirType() + "/" + record.getIdPart()));
      if (record instanceof CarePlan plan) {
        written
            .addSection()
            .setTitle(texts.of("handover.section.now"))
            .setText(plan.getText().copy());
      } else {
        lines.add(words.line(record));
      }
    }
    if (lines.isEmpty()) {
      lines.add(
          texts.of(
              !records.isEmpty()
                  ? "summary.below"
                  : section.types.isEmpty() ? "summary.elsewhere" : "summary.unknown"));
    }
    written.setText(NarrativePage.SECTION.narrative(texts, new HandoverWriter.SectionSaid(lines)));
    return written;
  }
}

package org.tidemark.fhir;

import java.time.LocalTime;
import java.util.Optional;
import org.hl7.fhir.r4.model.CodeableConcept;
import org.hl7.fhir.r4.model.Coding;
import org.tidemark.programme.Side;

/**
 * What the code of an Observation means.
 *
 * @param place the panel, or alone
 * @param item the code of the item measured, blank for others
 * @param side the side that the code carries
 * @param foreign whether it is a code of another system alone
 */
record Meaning(Form form, Item.Place place, String item, Optional<Side> side, boolean foreign) {
  private static final LocalTime SESSION_TIME = LocalTime.NOON;
  private static final LocalTime MORNING_TIME = LocalTime.of(8, 0);

  /** What the code of an Observation says that it is. */
  enum Form {
    PANEL,
    MEASUREMENT,
    PAIN,
    DURATION
  }

  private static Meaning bare(Form form, Item.Place place) {
    return new Meaning(form, place, "", Optional.empty(), true);
  }

  private boolean saysTheSame(Meaning other) {
    return form == other.form && place == other.place && item.equals(other.item);
  }

  /** Whether it must say which side it is about. */
  boolean needsSide() {
    return switch (form) {
      case PANEL -> place != Item.Place.EQUIPMENT && place != Item.Place.WARNING;
      case MEASUREMENT -> Item.find(Codes.REPORT_ITEM, item).map(Item::hasSide).orElse(true);
      case PAIN, DURATION -> true;
    };
  }

  boolean isSession() {
    return form == Form.DURATION || place == Item.Place.SESSION;
  }

  /** What a date without a time is taken for. */
  LocalTime timeOfDay() {
    if (isSession()) {
      return SESSION_TIME;
    }
    return place == Item.Place.MORNING ? MORNING_TIME : LocalTime.MIDNIGHT;
  }

  /**
   * What a code means; empty when it means nothing here. Each of its codings is read, and all that
   * are known must agree.
   */
  static Optional<Meaning> read(CodeableConcept concept, ReadingMap map, Findings findings) {
    Optional<Meaning> meaning = Optional.empty();
    for (Coding coding : concept.getCoding()) {
      Optional<Meaning> next = read(coding, map, findings);
      if (meaning.isEmpty()) {
        meaning = next;
      } else if (next.isPresent()) {
        meaning = joined(meaning.get(), next.get(), findings);
      }
    }
    return meaning;
  }

  private static Optional<Meaning> read(Coding coding, ReadingMap map, Findings findings) {
    String system = coding.getSystem();
    String code = coding.getCode();
    Optional<ReadingMap.Entry> mapped = map.find(system, code);
    if (mapped.isPresent()) {
      return mapped.map(
          entry ->
              new Meaning(Form.MEASUREMENT, Item.Place.ALONE, entry.item(), entry.side(), true));
    }
    if (Codes.LOINC.equals(system)) {
      return Optional.ofNullable(code)
          .flatMap(
              loinc ->
                  switch (loinc) {
                    case Codes.LOINC_PAIN -> Optional.of(bare(Form.PAIN, Item.Place.PAIN_SCORE));
                    case Codes.LOINC_EXERCISE_DURATION ->
                        Optional.of(bare(Form.DURATION, Item.Place.ALONE));
                    default -> Optional.empty();
                  });
    }
    if (Codes.REPORT_ITEM.equals(system)) {
      return ours(code, findings);
    }
    return Optional.empty();
  }

  private static Optional<Meaning> ours(String code, Findings findings) {
    Optional<Item.Place> panel = Item.Place.panel(code);
    if (panel.isPresent()) {
      return Optional.of(new Meaning(Form.PANEL, panel.get(), "", Optional.empty(), false));
    }
    Optional<Item> item = Item.find(Codes.REPORT_ITEM, code);
    if (item.filter(known -> known.places().contains(Item.Place.ALONE)).isPresent()) {
      return Optional.of(
          new Meaning(Form.MEASUREMENT, Item.Place.ALONE, code, Optional.empty(), false));
    }
    findings.refuse(
        Problem.Kind.UNSUPPORTED,
        item.isPresent()
            ? "'" + code + "' is sent as a component of a report."
            : "There is no report '" + code + "'.",
        "Observation.code");
    return Optional.empty();
  }

  private static Optional<Meaning> joined(Meaning one, Meaning other, Findings findings) {
    if (!one.saysTheSame(other)) {
      findings.refuse(
          Problem.Kind.BUSINESS_RULE,
          "The codes of the Observation mean different things.",
          "Observation.code");
      return Optional.of(one);
    }
    if (one.side().isPresent() && other.side().isPresent() && !one.side().equals(other.side())) {
      findings.refuse(
          Problem.Kind.BUSINESS_RULE,
          "The codes of the Observation are for different sides.",
          "Observation.code");
    }
    return Optional.of(
        new Meaning(
            one.form(),
            one.place(),
            one.item(),
            one.side().or(other::side),
            one.foreign() && other.foreign()));
  }
}

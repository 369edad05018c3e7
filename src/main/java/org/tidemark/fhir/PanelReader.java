package org.tidemark.fhir;

import java.util.ArrayList;
import java.util.EnumSet;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.Set;
import org.hl7.fhir.r4.model.Coding;
import org.hl7.fhir.r4.model.Observation;
import org.hl7.fhir.r4.model.Observation.ObservationComponentComponent;
import org.tidemark.decision.Warning;
import org.tidemark.programme.Side;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Value;
import org.tidemark.quantity.YesNo;

/**
 * The components of a report. Codes of our own systems must be known and belong in the report;
 * codes of other systems are read where the map says what they mean, and left alone where it does
 * not. A warning may stand in any report.
 */
final class PanelReader {
  private final Item.Place place;
  private final Optional<Side> side;
  private final ReadingMap map;
  private final Measures measures;
  private final Findings findings;
  private final AnswerReader answers;

  private final Map<String, Value> items = new LinkedHashMap<>();
  private final Map<String, List<Value>> pieces = new LinkedHashMap<>();
  private final Map<String, Value> settings = new LinkedHashMap<>();
  private final Set<Warning> warnings = EnumSet.noneOf(Warning.class);
  private final Map<String, String> paths = new LinkedHashMap<>();

  /**
   * What a report answers.
   *
   * @param items by code, each answered once
   * @param pieces by code of the equipment, every piece of it
   * @param settings by code of the progression variable
   * @param warnings those that are there
   * @param paths FHIRPath of the component, by code of the item
   */
  record Answers(
      Map<String, Value> items,
      Map<String, List<Value>> pieces,
      Map<String, Value> settings,
      Set<Warning> warnings,
      Map<String, String> paths) {

    boolean isEmpty() {
      return items.isEmpty() && pieces.isEmpty() && settings.isEmpty();
    }

    Optional<Amount> amount(String item) {
      return items.get(item) instanceof Amount amount ? Optional.of(amount) : Optional.empty();
    }

    Optional<Boolean> yesNo(String item) {
      return items.get(item) instanceof YesNo answer ? Optional.of(answer.yes()) : Optional.empty();
    }
  }

  PanelReader(
      Item.Place place, Optional<Side> side, ReadingMap map, Measures measures, Findings findings) {
    this.place = place;
    this.side = side;
    this.map = map;
    this.measures = measures;
    this.findings = findings;
    this.answers = new AnswerReader(findings);
  }

  Answers read(Observation observation) {
    List<ObservationComponentComponent> components = observation.getComponent();
    for (int i = 0; i < components.size(); i++) {
      read(components.get(i), "Observation.component[" + i + "]");
    }
    return new Answers(items, pieces, settings, warnings, paths);
  }

  private void read(ObservationComponentComponent component, String path) {
    if (!component.hasCode()) {
      findings.refuse(Problem.Kind.MISSING, "A component needs a code.", path + ".code");
      return;
    }
    if (component.hasValue() && component.hasDataAbsentReason()) {
      findings.refuse(
          Problem.Kind.BUSINESS_RULE,
          "A component has a value or a reason why it has none, not both.",
          path + ".dataAbsentReason");
      return;
    }
    for (Coding coding : component.getCode().getCoding()) {
      if (isRead(coding, component, path)) {
        return;
      }
    }
  }

  /** Whether the coding means something here; what it means is then taken. */
  private boolean isRead(Coding coding, ObservationComponentComponent component, String path) {
    String system = coding.getSystem();
    String code = coding.getCode();
    Optional<ReadingMap.Entry> mapped = map.find(system, code);
    if (mapped.isPresent()) {
      takeMapped(mapped.get(), component, path);
      return true;
    }
    if (Codes.REPORT_ITEM.equals(system) || Codes.EQUIPMENT_ITEM.equals(system)) {
      Item.find(system, code)
          .ifPresentOrElse(
              item -> takeItem(item, component, path), () -> unknown("item", code, path));
      return true;
    }
    if (Codes.WARNING.equals(system)) {
      Warning.find(code)
          .ifPresentOrElse(
              warning -> takeWarning(warning, component, path),
              () -> unknown("warning", code, path));
      return true;
    }
    if (Codes.PROGRESSION_VARIABLE.equals(system)) {
      takeSetting(code, component, path);
      return true;
    }
    return false;
  }

  private void takeMapped(
      ReadingMap.Entry entry, ObservationComponentComponent component, String path) {
    if (entry.side().isPresent() && side.isPresent() && !entry.side().equals(side)) {
      findings.refuse(
          Problem.Kind.BUSINESS_RULE,
          "The code is for the " + entry.side().get().code() + " side, the report for the other.",
          path + ".code");
      return;
    }
    Optional<Item> item =
        Item.find(Codes.REPORT_ITEM, entry.item())
            .or(() -> Item.find(Codes.EQUIPMENT_ITEM, entry.item()));
    if (item.isPresent()) {
      takeItem(item.get(), component, path);
      return;
    }
    String valuePath = path + ".value";
    answers
        .readAny(entry.item(), component.getValue(), valuePath)
        .ifPresent(value -> keep(entry.item(), value, path));
  }

  private void takeItem(Item item, ObservationComponentComponent component, String path) {
    if (!item.places().contains(place)) {
      findings.refuse(
          Problem.Kind.UNSUPPORTED,
          "'" + item.code() + "' does not belong in a " + place.code() + " report.",
          path + ".code");
      return;
    }
    answers
        .read(item, component.getValue(), path + ".value")
        .ifPresent(value -> keep(item.code(), value, path));
  }

  private void keep(String item, Value value, String path) {
    if (place == Item.Place.EQUIPMENT) {
      pieces.computeIfAbsent(item, code -> new ArrayList<>()).add(value);
    } else if (items.putIfAbsent(item, value) != null) {
      twice(item, path);
    } else {
      paths.put(item, path);
    }
  }

  private void takeWarning(Warning warning, ObservationComponentComponent component, String path) {
    answers
        .yesNo(warning.code(), component.getValue(), path + ".value")
        .filter(YesNo::yes)
        .ifPresent(yes -> warnings.add(warning));
  }

  private void takeSetting(String variable, ObservationComponentComponent component, String path) {
    if (place != Item.Place.SESSION || variable == null) {
      findings.refuse(
          Problem.Kind.UNSUPPORTED,
          "A setting is reported by its code in a session report.",
          path + ".code");
      return;
    }
    answers
        .setting(variable, component.getValue(), measures, path + ".value")
        .ifPresent(
            value -> {
              if (settings.putIfAbsent(variable, value) != null) {
                twice(variable, path);
              }
            });
  }

  private void twice(String item, String path) {
    findings.refuse(Problem.Kind.BUSINESS_RULE, "'" + item + "' is answered once.", path + ".code");
  }

  private void unknown(String what, String code, String path) {
    findings.refuse(
        Problem.Kind.UNSUPPORTED, "There is no " + what + " '" + code + "'.", path + ".code");
  }
}

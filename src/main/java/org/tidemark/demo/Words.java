package org.tidemark.demo;

import java.util.ArrayList;
import java.util.LinkedHashSet;
import java.util.List;
import java.util.Set;
import java.util.stream.Collectors;
import org.hl7.fhir.r4.model.BooleanType;
import org.hl7.fhir.r4.model.CodeType;
import org.hl7.fhir.r4.model.Extension;
import org.hl7.fhir.r4.model.Flag;
import org.hl7.fhir.r4.model.IntegerType;
import org.hl7.fhir.r4.model.Observation;
import org.hl7.fhir.r4.model.Observation.ObservationComponentComponent;
import org.hl7.fhir.r4.model.Quantity;
import org.hl7.fhir.r4.model.Resource;
import org.hl7.fhir.r4.model.ServiceRequest;
import org.hl7.fhir.r4.model.Task;
import org.hl7.fhir.r4.model.Timing;
import org.hl7.fhir.r4.model.Type;
import org.tidemark.fhir.Codes;

/** Resources on one line for a reader. */
final class Words {
  private static final String SESSION = "session";
  private static final String MORNING = "morning";
  private static final String WARNING = "warning";
  private static final Set<String> FELT =
      new LinkedHashSet<>(
          List.of(
              "pain-during",
              "pain-after",
              "pain-next-morning",
              "contact",
              "more-swollen",
              "would-repeat"));

  private Words() {}

  /** A prescription: what, how it is set, how much, how often. */
  static String prescription(ServiceRequest request) {
    List<String> settings = new ArrayList<>();
    for (Extension setting : request.getExtensionsByUrl(Codes.SETTING)) {
      Type value = setting.getExtensionByUrl("value").getValue();
      boolean none = value instanceof Quantity load && load.getCode().equals("kg") && isZero(load);
      if (!none) {
        settings.add(
            plain(setting.getExtensionByUrl("variable").getValue().primitiveValue())
                + " "
                + value(value));
      }
    }
    List<String> parts = new ArrayList<>();
    if (!settings.isEmpty()) {
      parts.add(String.join(", ", settings));
    }
    String dose = dose(request.getExtensionByUrl(Codes.DOSE));
    parts.add((dose.isEmpty() ? "" : dose + ", ") + often(request.getOccurrenceTiming()));
    return request.getCode().getText() + ": " + String.join("; ", parts);
  }

  /** What came in. */
  static String report(Resource resource) {
    if (resource instanceof Observation observation) {
      return observation(observation);
    }
    if (resource instanceof Flag flag) {
      return flag.getStatus() == Flag.FlagStatus.ACTIVE
          ? "limit set: " + flag.getCode().getText()
          : "limit lifted: " + flag.getCode().getText();
    }
    if (resource instanceof Task task) {
      String note = task.getNote().isEmpty() ? "" : ": " + task.getNoteFirstRep().getText();
      return "clinician, " + task.getStatus().toCode() + note;
    }
    return resource.fhirType().equals("CarePlan") ? "enrolled" : resource.fhirType();
  }

  private static String observation(Observation observation) {
    String code =
        observation.getCode().getCoding().stream()
            .filter(coding -> Codes.REPORT_ITEM.equals(coding.getSystem()))
            .map(coding -> coding.getCode())
            .findFirst()
            .orElse(
                observation.getCode().getCodingFirstRep().getCode().equals(Codes.LOINC_PAIN)
                    ? "pain"
                    : "comfortable-flexion");
    String correction =
        observation.getStatus() == Observation.ObservationStatus.CORRECTED ? "corrected " : "";
    return correction
        + switch (code) {
          case SESSION, MORNING -> code + felt(observation);
          case WARNING -> "warning: " + signs(observation);
          case "baseline" -> "new baseline";
          case "home-equipment" -> "equipment";
          default -> plain(code) + " " + value(observation.getValue());
        };
  }

  private static String felt(Observation report) {
    List<String> felt = new ArrayList<>();
    for (ObservationComponentComponent component : report.getComponent()) {
      String item = component.getCode().getCodingFirstRep().getCode();
      if (FELT.contains(item)) {
        felt.add(felt(item, component.getValue()));
      }
    }
    felt.removeIf(String::isEmpty);
    return felt.isEmpty() ? "" : ": " + String.join(", ", felt);
  }

  private static String felt(String item, Type value) {
    boolean no = value instanceof BooleanType answer && !answer.booleanValue();
    return switch (item) {
      case "pain-during" -> "pain " + value(value) + " during";
      case "pain-after" -> value(value) + " after";
      case "pain-next-morning" -> "pain " + value(value);
      case "contact" -> no ? "no contact" : "contact";
      case "more-swollen" -> no ? "" : "more swollen";
      default -> no ? "would not repeat it" : "";
    };
  }

  private static String signs(Observation warning) {
    return warning.getComponent().stream()
        .filter(sign -> sign.getValue() instanceof BooleanType shown && shown.booleanValue())
        .map(sign -> plain(sign.getCode().getCodingFirstRep().getCode()))
        .collect(Collectors.joining(", "));
  }

  private static String dose(Extension dose) {
    List<String> factors = new ArrayList<>();
    for (String part : List.of("sets", "repetitions", "hold", "time")) {
      if (dose.hasExtension(part)) {
        factors.add(value(dose.getExtensionByUrl(part).getValue()));
      }
    }
    return factors.equals(List.of("1")) ? "" : String.join(" × ", factors);
  }

  private static String often(Timing timing) {
    int times = timing.getRepeat().getFrequency();
    if (timing.getRepeat().getPeriodUnit() == Timing.UnitsOfTime.D) {
      return times == 1 ? "daily" : times + " times a day";
    }
    return times + " times a week";
  }

  private static String value(Type value) {
    if (value instanceof Quantity quantity) {
      return quantity.getValue().stripTrailingZeros().toPlainString() + unit(quantity);
    }
    if (value instanceof CodeType grade) {
      return plain(grade.getValue());
    }
    if (value instanceof BooleanType answer) {
      return answer.booleanValue() ? "yes" : "no";
    }
    return value instanceof IntegerType number ? number.getValueAsString() : value.primitiveValue();
  }

  private static boolean isZero(Quantity quantity) {
    return quantity.getValue().signum() == 0;
  }

  private static String unit(Quantity quantity) {
    return switch (quantity.getCode()) {
      case "{score}" -> "";
      case "deg" -> "°";
      case "[in_i]" -> " in";
      case "[lb_av]" -> " lb";
      default -> " " + quantity.getCode();
    };
  }

  private static String plain(String code) {
    return code.replace('-', ' ');
  }
}

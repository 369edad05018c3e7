package org.tidemark.fhir;

import java.util.Optional;
import java.util.stream.Collectors;
import java.util.stream.Stream;
import org.hl7.fhir.r4.model.ActivityDefinition;
import org.hl7.fhir.r4.model.Attachment;
import org.hl7.fhir.r4.model.BaseDateTimeType;
import org.hl7.fhir.r4.model.Binary;
import org.hl7.fhir.r4.model.BooleanType;
import org.hl7.fhir.r4.model.CodeableConcept;
import org.hl7.fhir.r4.model.Coding;
import org.hl7.fhir.r4.model.Condition;
import org.hl7.fhir.r4.model.DetectedIssue;
import org.hl7.fhir.r4.model.Device;
import org.hl7.fhir.r4.model.DocumentReference;
import org.hl7.fhir.r4.model.DomainResource;
import org.hl7.fhir.r4.model.Flag;
import org.hl7.fhir.r4.model.Goal;
import org.hl7.fhir.r4.model.GuidanceResponse;
import org.hl7.fhir.r4.model.Narrative;
import org.hl7.fhir.r4.model.Observation;
import org.hl7.fhir.r4.model.Organization;
import org.hl7.fhir.r4.model.Patient;
import org.hl7.fhir.r4.model.Period;
import org.hl7.fhir.r4.model.PlanDefinition;
import org.hl7.fhir.r4.model.Practitioner;
import org.hl7.fhir.r4.model.Provenance;
import org.hl7.fhir.r4.model.Quantity;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.Resource;
import org.hl7.fhir.r4.model.ServiceRequest;
import org.hl7.fhir.r4.model.Task;
import org.hl7.fhir.r4.model.Type;

/**
 * Each record that is handed over, in a line of words, so that whoever cannot read its elements
 * misses nothing.
 *
 * @param texts the language
 */
record HandoverText(Texts texts) {

  /** When it was, its status where that matters, and what it says. */
  String line(Resource record) {
    if (record instanceof Observation o) {
      return join(time(o.getEffective()), o.getStatus().toCode(), observed(o));
    } else if (record instanceof ServiceRequest r) {
      return join(
          r.getAuthoredOnElement().getValueAsString(),
          r.getStatus().toCode() + " " + r.getIntent().toCode(),
          r.getPatientInstruction().isEmpty() ? words(r.getCode()) : r.getPatientInstruction());
    } else if (record instanceof GuidanceResponse g) {
      return join(
          g.getOccurrenceDateTimeElement().getValueAsString(),
          g.getStatus().toCode(),
          g.getReasonCode().stream().map(this::words).collect(Collectors.joining(" ")));
    } else if (record instanceof Provenance p) {
      return join(
          time(p.getOccurred()),
          words(p.getActivity()),
          texts.of("plan.rests")
              + " "
              + p.getEntity().stream()
                  .map(entity -> entity.getWhat().getReference())
                  .collect(Collectors.joining(", ")));
    } else if (record instanceof Task t) {
      return join(
          t.getAuthoredOnElement().getValueAsString(),
          t.getStatus().toCode(),
          words(t.getCode()) + ". " + text(t.getDescription()));
    } else if (record instanceof DetectedIssue d) {
      return join(time(d.getIdentified()), d.getStatus().toCode(), text(d.getDetail()));
    } else if (record instanceof Flag f) {
      return join(time(f.getPeriod()), f.getStatus().toCode(), words(f.getCode()));
    } else if (record instanceof Goal g) {
      return join(
          g.getStatusDateElement().getValueAsString(),
          g.getLifecycleStatus().toCode(),
          words(g.getDescription()) + " " + words(g.getAchievementStatus()));
    } else {
      return other(record);
    }
  }

  private String other(Resource record) {
    if (record instanceof Patient p) {
      return join(
          p.getNameFirstRep().getNameAsSingleString(), p.getBirthDateElement().getValueAsString());
    } else if (record instanceof Condition c) {
      return join(time(c.getOnset()), words(c.getClinicalStatus()), words(c.getCode()));
    } else if (record instanceof PlanDefinition d) {
      return join(text(d.getTitle()), text(d.getUrl()) + "|" + text(d.getVersion()));
    } else if (record instanceof ActivityDefinition d) {
      return join(text(d.getTitle()), text(d.getDescription()));
    } else if (record instanceof DocumentReference d) {
      return join(text(d.getDescription()), d.getDateElement().getValueAsString());
    } else if (record instanceof Binary b) {
      return b.getContentType();
    } else if (record instanceof Organization o) {
      return text(o.getName());
    } else if (record instanceof Practitioner p) {
      return p.getNameFirstRep().getNameAsSingleString();
    } else if (record instanceof Device d) {
      return join(d.getDeviceNameFirstRep().getName(), text(d.getVersionFirstRep().getValue()));
    }
    return record instanceof DomainResource told && told.getText().hasDiv()
        ? lines(told.getText())
        : record.fhirType() + "/" + record.getIdPart();
  }

  private static String lines(Narrative narrative) {
    return join(narrative.getDiv().allText().lines().map(String::strip).toArray(String[]::new));
  }

  private String observed(Observation observation) {
    Stream<String> own =
        observation.hasValue() ? Stream.of(value(observation.getValue())) : Stream.empty();
    Stream<String> parts =
        observation.getComponent().stream()
            .map(
                part ->
                    words(part.getCode())
                        + " "
                        + (part.hasValue()
                            ? value(part.getValue())
                            : words(part.getDataAbsentReason())));
    return words(observation.getCode())
        + ": "
        + Stream.concat(own, parts).collect(Collectors.joining("; "));
  }

  private String value(Type value) {
    if (value instanceof Quantity quantity) {
      String unit = quantity.hasUnit() ? quantity.getUnit() : text(quantity.getCode());
      return texts.number(quantity.getValue()) + (unit.startsWith("{") ? "" : " " + unit);
    } else if (value instanceof BooleanType answer) {
      return texts.of(answer.booleanValue() ? "value.yes" : "value.no");
    } else if (value instanceof CodeableConcept concept) {
      return words(concept);
    } else if (value instanceof Attachment || value instanceof Reference) {
      return value.fhirType();
    }
    return value.isPrimitive() ? value.primitiveValue() : time(value);
  }

  private String words(CodeableConcept concept) {
    return concept.hasText()
        ? concept.getText()
        : concept.getCoding().stream()
            .flatMap(coding -> Stream.of(text(coding.getDisplay()), named(coding)))
            .filter(text -> !text.isEmpty())
            .findFirst()
            .orElse("");
  }

  private String named(Coding coding) {
    boolean ours = Codes.REPORT_ITEM.equals(coding.getSystem()) && coding.hasCode();
    return ours ? texts.item(coding.getCode()) : text(coding.getCode());
  }

  private static String time(Type value) {
    if (value instanceof BaseDateTimeType time) {
      return time.getValueAsString();
    } else if (value instanceof Period period) {
      return text(period.getStartElement().getValueAsString())
          + " – "
          + text(period.getEndElement().getValueAsString());
    }
    return "";
  }

  private static String join(String... parts) {
    return Stream.of(parts)
        .filter(part -> part != null && !part.isBlank())
        .collect(Collectors.joining(" · "));
  }

  private static String text(String text) {
    return Optional.ofNullable(text).orElse("");
  }
}

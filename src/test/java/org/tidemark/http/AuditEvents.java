package org.tidemark.http;

import java.util.List;
import java.util.Optional;
import org.hl7.fhir.r4.model.AuditEvent;
import org.hl7.fhir.r4.model.AuditEvent.AuditEventEntityComponent;
import org.hl7.fhir.r4.model.Bundle;

/** What the audit trail holds, as a client reads it. */
record AuditEvents(Sender sender) {
  private static final String TYPE = "http://terminology.hl7.org/CodeSystem/audit-entity-type";

  /** The events of one request, the oldest first; it must be among the newest 500. */
  List<AuditEvent> ofRequest(String requestId) {
    return search("_sort=-date&_count=500").stream()
        .filter(event -> Optional.of(requestId).equals(requestId(event)))
        .sorted(java.util.Comparator.comparingLong(e -> Long.parseLong(e.getIdPart())))
        .toList();
  }

  List<AuditEvent> search(String query) {
    Sender.Answer answer = sender.get("/fhir/AuditEvent?" + query);
    if (answer.status() != 200) {
      throw new AssertionError(answer.status() + answer.body());
    }
    return PlanPerson.CONTEXT
        .newJsonParser()
        .parseResource(Bundle.class, answer.body())
        .getEntry()
        .stream()
        .map(entry -> (AuditEvent) entry.getResource())
        .toList();
  }

  static Optional<String> requestId(AuditEvent event) {
    return event.getEntity().stream()
        .filter(entity -> "XrequestId".equals(entity.getType().getCode()))
        .map(entity -> entity.getWhat().getIdentifier().getValue())
        .findFirst();
  }

  /** The interaction, the action, the outcome, the record and the person, as one text. */
  static String told(AuditEvent event) {
    return "%s %s %s %s %s"
        .formatted(
            event.hasSubtype() ? event.getSubtypeFirstRep().getCode() : event.getType().getCode(),
            event.getAction().toCode(),
            event.getOutcome().toCode(),
            what(event, "4"),
            what(event, "1"));
  }

  /** What plays a role: 1 a patient, 4 a record; {@code -} when nothing does. */
  static String what(AuditEvent event, String role) {
    return inRole(event, role).map(entity -> entity.getWhat().getReference()).orElse("-");
  }

  /** The query of the event, decoded. */
  static String query(AuditEvent event) {
    return inRole(event, "24").map(entity -> new String(entity.getQuery())).orElse("-");
  }

  static Optional<AuditEventEntityComponent> inRole(AuditEvent event, String role) {
    return event.getEntity().stream()
        .filter(
            entity ->
                entity.getType().getSystem().equals(TYPE)
                    && role.equals(entity.getRole().getCode()))
        .findFirst();
  }
}

package org.tidemark.http;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.test.junit.QuarkusTest;
import io.quarkus.test.junit.TestProfile;
import java.util.List;
import java.util.Map;
import java.util.UUID;
import org.hl7.fhir.r4.model.AuditEvent;
import org.hl7.fhir.r4.model.AuditEvent.AuditEventAgentComponent;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;

/** The audit trail says who it was, by the token; and who may read it. */
@QuarkusTest
@TestProfile(SmartProfile.class)
class AuditAccessTest {
  private static final String ADA = "https://record.example/fhir/Practitioner/ada";

  private final Sender all = by("system/*.cruds", Map.of("client_id", "ward"));
  private final AuditEvents trail = new AuditEvents(all);

  private static Sender by(String scopes, Map<String, Object> claims) {
    return new Sender(SmartProfile.token(scopes, claims));
  }

  private List<AuditEvent> events(Sender sender, int status, String path) {
    String id = UUID.randomUUID().toString();
    assertEquals(status, sender.send("GET", path, null, RequestIds.HEADER, id).status());
    return trail.ofRequest(id);
  }

  private static String who(AuditEventAgentComponent agent) {
    return agent.getWho().hasReference()
        ? agent.getWho().getReference()
        : agent.getWho().hasIdentifier()
            ? agent.getWho().getIdentifier().getValue()
            : agent.getWho().getDisplay();
  }

  private static String requestor(AuditEvent event) {
    return event.getAgent().stream()
        .filter(AuditEventAgentComponent::getRequestor)
        .map(AuditAccessTest::who)
        .reduce("", String::concat);
  }

  @Test
  void tellsTheClientAndTheUserOfTheToken() {
    Sender ada = by("user/*.rs", Map.of("client_id", "desk", "fhirUser", ADA));
    List<AuditEvent> events = events(ada, 200, "/fhir/Patient?_id=none");
    assertEquals(1, events.size());
    AuditEvent event = events.get(0);
    assertEquals("desk", who(event.getAgent().get(0)));
    assertEquals(ADA, requestor(event), "the user asked, not the client");
    assertEquals("IRCP", event.getAgent().get(2).getType().getCodingFirstRep().getCode());
    List<AuditEvent> ofAda = trail.search("agent=" + ADA);
    assertTrue(ofAda.stream().anyMatch(one -> one.getIdPart().equals(event.getIdPart())));
    List<AuditEvent> ofDesk = trail.search("agent:identifier=desk");
    assertTrue(ofDesk.stream().anyMatch(one -> one.getIdPart().equals(event.getIdPart())));
  }

  /** Without fhirUser the issuer's own id of the user stands, and none where that is the client. */
  @Test
  void tellsTheSubjectWhereThereIsNoRecordOfTheUser() {
    Sender user = by("system/*.rs", Map.of("client_id", "desk", "sub", "u-17"));
    assertEquals("u-17", requestor(events(user, 200, "/fhir/Patient?_id=none").get(0)));
    Sender itself = by("system/*.rs", Map.of("client_id", "desk", "sub", "desk"));
    AuditEvent event = events(itself, 200, "/fhir/Patient?_id=none").get(0);
    assertEquals("desk", requestor(event));
    assertEquals(2, event.getAgent().size());
  }

  @Test
  void aRequestWithoutAGoodTokenIsToldAsRefused() {
    for (Sender nobody : List.of(new Sender(null), new Sender("made.up.token"))) {
      List<AuditEvent> events = events(nobody, 401, "/fhir/Patient/p");
      assertEquals(
          List.of("read R 4 Patient/p -"), events.stream().map(AuditEvents::told).toList());
      assertEquals("HTTP 401", events.get(0).getOutcomeDesc());
      assertEquals("anyone", who(events.get(0).getAgent().get(0)));
    }
    assertEquals("110110 E 4 - -", AuditEvents.told(events(new Sender(null), 401, "/").get(0)));
  }

  @Test
  void aRequestWithoutTheRightIsToldWithWhoTriedIt() {
    Sender narrow = by("system/Goal.rs", Map.of("client_id", "narrow"));
    List<AuditEvent> events = events(narrow, 403, "/fhir/Patient/p");
    assertEquals(List.of("read R 4 Patient/p -"), events.stream().map(AuditEvents::told).toList());
    assertEquals("HTTP 403", events.get(0).getOutcomeDesc());
    assertEquals("narrow", who(events.get(0).getAgent().get(0)));
  }

  @ParameterizedTest(name = "{0}: {1}")
  @CsvSource({
    "system/AuditEvent.rs, 200",
    "user/*.rs, 200",
    "system/Patient.rs, 403",
    "system/AuditEvent.r, 403",
    "patient/*.rs, 403",
    "patient/AuditEvent.rs, 403",
    "system/AuditEvent.rs?action=R, 403"
  })
  void onlyWhoMaySeeAllOfItSearchesIt(String scopes, int status) {
    Sender sender = by(scopes, Map.of("patient", "p"));
    assertEquals(status, sender.get("/fhir/AuditEvent?_count=1").status());
  }
}

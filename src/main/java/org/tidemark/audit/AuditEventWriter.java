package org.tidemark.audit;

import jakarta.enterprise.context.ApplicationScoped;
import java.net.URI;
import java.nio.charset.StandardCharsets;
import java.util.Date;
import java.util.Optional;
import org.hl7.fhir.r4.model.AuditEvent;
import org.hl7.fhir.r4.model.AuditEvent.AuditEventAction;
import org.hl7.fhir.r4.model.AuditEvent.AuditEventAgentComponent;
import org.hl7.fhir.r4.model.AuditEvent.AuditEventAgentNetworkType;
import org.hl7.fhir.r4.model.AuditEvent.AuditEventEntityComponent;
import org.hl7.fhir.r4.model.AuditEvent.AuditEventOutcome;
import org.hl7.fhir.r4.model.CodeableConcept;
import org.hl7.fhir.r4.model.Coding;
import org.hl7.fhir.r4.model.Reference;
import org.tidemark.clinic.Clinics;
import org.tidemark.fhir.References;
import org.tidemark.store.AuditEntry;
import org.tidemark.store.AuditLink;

/**
 * Writes an entry as an AuditEvent in the patterns of IHE's Basic Audit Log Patterns (BALP 1.1.4,
 * {@code https://profiles.ihe.net/ITI/BALP}). Those are for what succeeded; a refusal follows them
 * as far as it can and claims none, nor do histories, operations and pages, for which there is
 * none.
 */
@ApplicationScoped
public class AuditEventWriter {
  private static final String BALP = "https://profiles.ihe.net/ITI/BALP/";
  private static final String PROFILE = BALP + "StructureDefinition/IHE.BasicAudit.";
  private static final String DCM = "http://dicom.nema.org/resources/ontology/DCM";
  private static final String TERMINOLOGY = "http://terminology.hl7.org/CodeSystem/";
  private static final String PARTICIPATION = TERMINOLOGY + "v3-ParticipationType";

  private static final Coding SOURCE = new Coding(DCM, "110153", "Source Role ID");
  private static final Coding DESTINATION = new Coding(DCM, "110152", "Destination Role ID");
  private static final Coding APPLICATION = new Coding(DCM, "110150", "Application");
  private static final Coding CUSTODIAN =
      new Coding(TERMINOLOGY + "provenance-participant-type", "custodian", "Custodian");
  private static final Coding RECIPIENT =
      new Coding(PARTICIPATION, "IRCP", "information recipient");
  private static final Coding AUTHOR = new Coding(PARTICIPATION, "AUT", "author (originator)");

  private static final Coding PERSON = new Coding(TERMINOLOGY + "audit-entity-type", "1", "Person");
  private static final Coding SYSTEM_OBJECT =
      new Coding(TERMINOLOGY + "audit-entity-type", "2", "System Object");
  private static final Coding REQUEST_ID =
      new Coding(
          BALP + "CodeSystem/BasicAuditEntityType",
          "XrequestId",
          "transport specific unique identifier where http X-Request-Id is used");
  private static final Coding PATIENT_ROLE = role("1", "Patient");
  private static final Coding RECORD_ROLE = role("4", "Domain Resource");
  private static final Coding QUERY_ROLE = role("24", "Query");

  private final References references;
  private final Clinics clinics;

  AuditEventWriter(References references, Clinics clinics) {
    this.references = references;
    this.clinics = clinics;
  }

  /** Who is the source of what flows, by the patterns. */
  private record Roles(Coding client, Coding server, Coding user) {
    static Roles of(Interaction interaction) {
      return switch (interaction) {
        case READ, VREAD -> new Roles(DESTINATION, SOURCE, RECIPIENT);
        case CREATE, UPDATE, PATCH -> new Roles(SOURCE, DESTINATION, AUTHOR);
        case DELETE -> new Roles(APPLICATION, CUSTODIAN, AUTHOR);
        default -> new Roles(SOURCE, DESTINATION, RECIPIENT);
      };
    }
  }

  private static Coding role(String code, String display) {
    return new Coding(TERMINOLOGY + "object-role", code, display);
  }

  /** The entry as an AuditEvent, whose id is its number. */
  public AuditEvent write(AuditLink link) {
    AuditEntry entry = link.entry();
    Interaction interaction = Interaction.of(entry.interaction());
    Date recorded = new Date(entry.recordedMs());
    AuditEvent event = new AuditEvent();
    event.setId("AuditEvent/" + link.seq());
    event.getMeta().setLastUpdated(recorded);
    profile(interaction, entry).ifPresent(name -> event.getMeta().addProfile(PROFILE + name));
    event.setType(type(interaction));
    if (interaction.isRest()) {
      event.addSubtype(
          new Coding(
              "http://hl7.org/fhir/restful-interaction", interaction.code(), interaction.code()));
    }
    event.setAction(AuditEventAction.fromCode(entry.action()));
    event.setRecorded(recorded);
    event.setOutcome(AuditEventOutcome.fromCode(entry.outcome()));
    if (entry.status() > 0) {
      event.setOutcomeDesc("HTTP " + entry.status());
    }
    addAgents(event, interaction, entry);
    event
        .getSource()
        .setObserver(new Reference().setDisplay(clinics.acting().organisation()))
        .addType(new Coding(TERMINOLOGY + "security-source-type", "4", "Application Server"));
    addEntities(event, entry);
    return event;
  }

  private static Coding type(Interaction interaction) {
    return switch (interaction) {
      case PAGE -> new Coding(DCM, "110110", "Patient Record");
      case RETENTION -> new Coding(DCM, "110101", "Audit Log Used");
      default -> new Coding(TERMINOLOGY + "audit-event-type", "rest", "RESTful Operation");
    };
  }

  private static Optional<String> profile(Interaction interaction, AuditEntry entry) {
    boolean success = entry.outcome().equals("0");
    boolean named = !entry.entity().isEmpty();
    Optional<String> pattern =
        switch (interaction) {
          case READ, VREAD -> Optional.of("Read").filter(any -> named);
          case CREATE -> Optional.of("Create").filter(any -> named);
          case UPDATE, PATCH -> Optional.of("Update").filter(any -> named);
          case DELETE -> Optional.of("Delete").filter(any -> named);
          case SEARCH -> Optional.of("Query");
          default -> Optional.empty();
        };
    return pattern
        .filter(any -> success)
        .map(name -> entry.patient().isEmpty() ? name : "Patient" + name);
  }

  private void addAgents(AuditEvent event, Interaction interaction, AuditEntry entry) {
    Roles roles = Roles.of(interaction);
    Reference client = new Reference();
    if (interaction == Interaction.RETENTION) {
      client.setDisplay("the service itself");
    } else if (entry.client().isEmpty()) {
      client.setDisplay("anyone");
    } else {
      client.getIdentifier().setValue(entry.client());
    }
    boolean named = !entry.user().isEmpty();
    AuditEventAgentComponent sender = agent(event, roles.client(), client).setRequestor(!named);
    if (!entry.address().isEmpty()) {
      sender.getNetwork().setAddress(entry.address()).setType(AuditEventAgentNetworkType._2);
    }
    agent(event, roles.server(), new Reference().setDisplay("Tidemark"))
        .getNetwork()
        .setAddress(URI.create(references.base()).getHost())
        .setType(AuditEventAgentNetworkType._1);
    if (named) {
      agent(event, roles.user(), user(entry.user())).setRequestor(true);
    }
  }

  private static Reference user(String user) {
    Reference who = new Reference();
    if (References.typeOf(user).isEmpty()) {
      who.getIdentifier().setValue(user);
    } else {
      who.setReference(user);
    }
    return who;
  }

  private static AuditEventAgentComponent agent(AuditEvent event, Coding type, Reference who) {
    return event
        .addAgent()
        .setType(new CodeableConcept(type.copy()))
        .setWho(who)
        .setRequestor(false);
  }

  private static void addEntities(AuditEvent event, AuditEntry entry) {
    if (!entry.entity().isEmpty()) {
      String version = entry.entityVersion() == 0 ? "" : "/_history/" + entry.entityVersion();
      entity(event, SYSTEM_OBJECT, RECORD_ROLE).setWhat(new Reference(entry.entity() + version));
    }
    if (!entry.asked().isEmpty()) {
      entity(event, SYSTEM_OBJECT, QUERY_ROLE)
          .setQuery(entry.asked().getBytes(StandardCharsets.UTF_8));
    }
    if (!entry.patient().isEmpty()) {
      entity(event, PERSON, PATIENT_ROLE).setWhat(new Reference(entry.patient()));
    }
    if (!entry.requestId().isEmpty()) {
      Reference request = new Reference();
      request.getIdentifier().setValue(entry.requestId());
      event.addEntity().setType(REQUEST_ID.copy()).setWhat(request);
    }
  }

  private static AuditEventEntityComponent entity(AuditEvent event, Coding type, Coding role) {
    return event.addEntity().setType(type.copy()).setRole(role.copy());
  }
}

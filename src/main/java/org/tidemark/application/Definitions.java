package org.tidemark.application;

import ca.uhn.fhir.context.FhirContext;
import io.quarkus.runtime.StartupEvent;
import jakarta.enterprise.context.ApplicationScoped;
import jakarta.enterprise.event.Observes;
import java.nio.charset.StandardCharsets;
import java.security.MessageDigest;
import java.security.NoSuchAlgorithmException;
import java.util.HexFormat;
import java.util.List;
import java.util.Set;
import java.util.stream.Stream;
import org.eclipse.microprofile.config.inject.ConfigProperty;
import org.hl7.fhir.r4.model.Device;
import org.hl7.fhir.r4.model.Organization;
import org.hl7.fhir.r4.model.Resource;
import org.tidemark.clinic.Clinics;
import org.tidemark.fhir.Codes;
import org.tidemark.store.ShippedStore;

/**
 * Loads what comes with the service at its start: the programmes, the profiles and codes, and the
 * service's own Device. Each clinic that is served has its own, so that it can retire one, and none
 * refers to another's.
 */
@ApplicationScoped
class Definitions {
  private final Records records;
  private final ShippedStore store;
  private final Programmes programmes;
  private final FhirContext context;
  private final String version;
  private final Clinics clinics;

  Definitions(
      Records records,
      ShippedStore store,
      Programmes programmes,
      FhirContext context,
      @ConfigProperty(name = "quarkus.application.version") String version,
      Clinics clinics) {
    this.records = records;
    this.store = store;
    this.programmes = programmes;
    this.context = context;
    this.version = version;
    this.clinics = clinics;
  }

  void load(@Observes StartupEvent start) {
    // Types that are not served are for validators elsewhere.
    List<String> shipped =
        ShippedFiles.read(Stream.concat(Types.WRITTEN.stream(), Types.PUBLISHED.stream()).toList());
    clinics.each(
        () -> {
          // Several instances of the service that start at once take turns.
          records.inTurn("Device/" + Issuing.ENGINE, () -> keepAll(shipped));
          programmes.readNew();
        });
  }

  private void keepAll(List<String> shipped) {
    Set<String> standing = store.standing();
    for (String text : shipped) {
      String digest = digest(text);
      if (!standing.contains(digest)) {
        keep(parse(text), digest);
      }
    }
    for (Resource own : List.of(engine(), organisation())) {
      String digest = digest(content(own));
      if (!standing.contains(digest)) {
        keep(own, digest);
      }
    }
  }

  private Resource parse(String text) {
    return (Resource) context.newJsonParser().parseResource(text);
  }

  private static String digest(String text) {
    try {
      byte[] hash =
          MessageDigest.getInstance("SHA-256").digest(text.getBytes(StandardCharsets.UTF_8));
      return HexFormat.of().formatHex(hash);
    } catch (NoSuchAlgorithmException e) {
      throw new IllegalStateException("every Java platform has SHA-256", e);
    }
  }

  /** Writes a new version only when the content has changed. */
  private void keep(Resource resource, String digest) {
    String type = resource.fhirType();
    String id = resource.getIdPart();
    Resource standing =
        records
            .find(type, id)
            .filter(stored -> content(stored).equals(content(resource)))
            .orElseGet(() -> records.put(resource));
    store.remember(type, id, Records.version(standing), digest);
  }

  private String content(Resource resource) {
    Resource bare = resource.copy();
    bare.setId(resource.fhirType() + "/" + resource.getIdPart());
    bare.getMeta().setVersionId(null).setLastUpdated(null);
    return context.newJsonParser().encodeResourceToString(bare);
  }

  private Device engine() {
    Device device = new Device();
    device.setId("Device/" + Issuing.ENGINE);
    device.setStatus(Device.FHIRDeviceStatus.ACTIVE);
    device.addDeviceName().setName("Tidemark").setType(Device.DeviceNameType.MANUFACTURERNAME);
    device.addVersion().setValue(version);
    device.addIdentifier().setSystem(Codes.BASE + "/NamingSystem/device").setValue(Issuing.ENGINE);
    device.getText().setStatus(org.hl7.fhir.r4.model.Narrative.NarrativeStatus.GENERATED);
    device
        .getText()
        .getDiv()
        .addText("Tidemark " + version + ", which computes exercise prescriptions");
    return device;
  }

  private Organization organisation() {
    String organisation = clinics.acting().organisation();
    Organization clinic = new Organization();
    clinic.setId("Organization/" + Issuing.ORGANISATION);
    clinic.setActive(true).setName(organisation);
    clinic.getText().setStatus(org.hl7.fhir.r4.model.Narrative.NarrativeStatus.GENERATED);
    clinic.getText().getDiv().addText(organisation);
    return clinic;
  }
}

package org.tidemark.application;

import ca.uhn.fhir.context.FhirContext;
import io.quarkus.narayana.jta.QuarkusTransaction;
import io.quarkus.runtime.StartupEvent;
import io.quarkus.runtime.util.ClassPathUtils;
import jakarta.enterprise.context.ApplicationScoped;
import jakarta.enterprise.event.Observes;
import java.io.IOException;
import java.io.UncheckedIOException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.List;
import java.util.Map;
import java.util.stream.Stream;
import org.eclipse.microprofile.config.inject.ConfigProperty;
import org.hl7.fhir.r4.model.Device;
import org.hl7.fhir.r4.model.Organization;
import org.hl7.fhir.r4.model.PlanDefinition;
import org.hl7.fhir.r4.model.Resource;
import org.tidemark.fhir.Codes;

/**
 * Loads what comes with the service at its start: the programmes, the profiles and codes, and the
 * service's own Device.
 */
@ApplicationScoped
class Definitions {
  private static final String FOLDER = "fhir-profiles";

  private final Records records;
  private final Programmes programmes;
  private final FhirContext context;
  private final String version;
  private final String organisation;

  Definitions(
      Records records,
      Programmes programmes,
      FhirContext context,
      @ConfigProperty(name = "quarkus.application.version") String version,
      @ConfigProperty(name = "tidemark.organisation") String organisation) {
    this.records = records;
    this.programmes = programmes;
    this.context = context;
    this.version = version;
    this.organisation = organisation;
  }

  void load(@Observes StartupEvent start) {
    List<Resource> shipped = shipped();
    QuarkusTransaction.requiringNew()
        .run(
            () -> {
              shipped.stream().filter(Definitions::isServed).forEach(this::keep);
              keep(engine());
              keep(organisation());
            });
    QuarkusTransaction.requiringNew().run(this::readProgrammes);
  }

  /** Every programme that is stored is served, those of clinics too. */
  private void readProgrammes() {
    for (PlanDefinition definition :
        records.list(PlanDefinition.class, Map.of("status", "active"))) {
      programmes.serve(definition);
    }
  }

  private List<Resource> shipped() {
    List<Resource> found = new ArrayList<>();
    try {
      ClassPathUtils.consumeAsPaths(FOLDER, folder -> found.addAll(read(folder)));
    } catch (IOException e) {
      throw new UncheckedIOException(
          "the definitions that come with the service cannot be read", e);
    }
    return found;
  }

  private List<Resource> read(Path folder) {
    try (Stream<Path> files = Files.walk(folder)) {
      List<Resource> resources = new ArrayList<>();
      for (Path file : files.filter(path -> path.toString().endsWith(".json")).sorted().toList()) {
        resources.add((Resource) context.newJsonParser().parseResource(Files.readString(file)));
      }
      return resources;
    } catch (IOException e) {
      throw new UncheckedIOException(
          "the definitions that come with the service cannot be read", e);
    }
  }

  private static boolean isServed(Resource resource) {
    return Types.WRITTEN.contains(resource.fhirType())
        || Types.PUBLISHED.contains(resource.fhirType());
  }

  /** Writes a new version only when the content has changed. */
  private void keep(Resource resource) {
    boolean same =
        records
            .find(resource.fhirType(), resource.getIdPart())
            .map(stored -> content(stored).equals(content(resource)))
            .orElse(false);
    if (!same) {
      records.put(resource);
    }
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
    Organization clinic = new Organization();
    clinic.setId("Organization/" + Issuing.ORGANISATION);
    clinic.setActive(true).setName(organisation);
    clinic.getText().setStatus(org.hl7.fhir.r4.model.Narrative.NarrativeStatus.GENERATED);
    clinic.getText().getDiv().addText(organisation);
    return clinic;
  }
}

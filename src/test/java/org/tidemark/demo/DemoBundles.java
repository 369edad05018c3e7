package org.tidemark.demo;

import ca.uhn.fhir.parser.IParser;
import java.io.IOException;
import java.nio.charset.StandardCharsets;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.List;
import java.util.Map;
import java.util.TreeMap;
import java.util.UUID;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.Resource;

/** The files of {@code demo-bundles}: one entry on each line, so that a diary can be read. */
final class DemoBundles {
  static final Path FOLDER = Path.of("demo-bundles");

  private DemoBundles() {}

  /** Writes every file anew. */
  public static void main(String... args) throws IOException {
    Files.createDirectories(FOLDER);
    for (Map.Entry<String, String> file : files().entrySet()) {
      Files.writeString(FOLDER.resolve(file.getKey()), file.getValue());
    }
  }

  /** What each file is to hold, by its name. */
  static Map<String, String> files() {
    Map<String, String> files = new TreeMap<>();
    files.put("clinic.json", transaction(DemoPeople.clinic()));
    for (DemoPeople.Person person : DemoPeople.all()) {
      files.put(person.id() + ".json", transaction(person.enrolment()));
      files.put(person.id() + "-diary.json", collection(person.diary()));
    }
    return files;
  }

  private static String transaction(Bundle bundle) {
    return parser().setPrettyPrint(true).encodeResourceToString(bundle) + "\n";
  }

  private static String collection(List<Resource> pages) {
    List<String> entries = new ArrayList<>();
    for (Resource page : pages) {
      entries.add(
          "    {\"fullUrl\":\""
              + fullUrl(page)
              + "\",\"resource\":"
              + parser().encodeResourceToString(page)
              + "}");
    }
    return "{\n  \"resourceType\": \"Bundle\",\n  \"type\": \"collection\",\n  \"entry\": [\n"
        + String.join(",\n", entries)
        + "\n  ]\n}\n";
  }

  /** Where a record of the clinic lives; what has no id yet is named by what it says. */
  static String fullUrl(Resource resource) {
    String id = resource.getIdElement().getIdPart();
    return id == null
        ? "urn:uuid:"
            + UUID.nameUUIDFromBytes(
                parser().encodeResourceToString(resource).getBytes(StandardCharsets.UTF_8))
        : "https://marram-lane.example/fhir/" + resource.fhirType() + "/" + id;
  }

  private static IParser parser() {
    return Diaries.R4.newJsonParser();
  }
}

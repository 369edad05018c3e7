package org.tidemark.fhir;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import ca.uhn.fhir.context.FhirContext;
import com.fasterxml.jackson.databind.JsonNode;
import com.fasterxml.jackson.databind.ObjectMapper;
import jakarta.json.Json;
import jakarta.json.JsonReader;
import jakarta.json.JsonStructure;
import java.io.InputStream;
import java.io.StringReader;
import java.io.StringWriter;
import java.util.ArrayList;
import java.util.List;
import java.util.stream.Stream;
import javax.xml.parsers.DocumentBuilderFactory;
import javax.xml.transform.OutputKeys;
import javax.xml.transform.Transformer;
import javax.xml.transform.TransformerFactory;
import javax.xml.transform.dom.DOMSource;
import javax.xml.transform.stream.StreamResult;
import org.hl7.fhir.r4.model.Parameters;
import org.hl7.fhir.r4.model.Resource;
import org.junit.jupiter.api.DynamicTest;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.TestFactory;
import org.w3c.dom.Document;
import org.w3c.dom.Element;
import org.w3c.dom.Node;

/** Source: HL7's test suites of FHIRPath Patch and JSON Patch for R4 (fhir-test-cases). */
class PatchesTest {
  private static final FhirContext CONTEXT = FhirContext.forR4Cached();
  private static final Patches PATCHES = new Patches(CONTEXT, new BodyCheck(CONTEXT, 200));
  private static final String SUITE = "/org/hl7/fhir/testcases/r4/patch/";

  @TestFactory
  Stream<DynamicTest> case22FhirPathPatchSuite() throws Exception {
    Document suite = document("fhir-patch-tests.xml");
    List<Element> cases = children(suite.getDocumentElement(), "case");
    assertEquals(33, cases.size());
    return cases.stream()
        .map(one -> DynamicTest.dynamicTest(one.getAttribute("name"), () -> runFhirPath(one)));
  }

  private static void runFhirPath(Element one) throws Exception {
    Resource input = resource(one, "input");
    Parameters diff = (Parameters) resource(one, "diff");
    if (children(one, "output").isEmpty()) {
      assertThrows(Problem.class, () -> PATCHES.fhirPath(input, diff));
      return;
    }
    assertEquals(encoded(resource(one, "output")), encoded(PATCHES.fhirPath(input, diff)));
  }

  @TestFactory
  Stream<DynamicTest> case22JsonPatchSuite() throws Exception {
    List<DynamicTest> tests = new ArrayList<>();
    try (InputStream suite =
        PatchesTest.class.getResourceAsStream(SUITE + "json-patch-tests.json")) {
      for (JsonNode one : new ObjectMapper().readTree(suite)) {
        tests.add(DynamicTest.dynamicTest(one.path("comment").asText(), () -> runJson(one)));
      }
    }
    assertEquals(16, tests.size());
    return tests.stream();
  }

  private static void runJson(JsonNode one) {
    if (one.has("error")) {
      assertThrows(Problem.class, () -> patched(one));
    } else {
      assertEquals(json(one.get("expected").toString()), patched(one));
    }
  }

  private static JsonStructure patched(JsonNode one) {
    return Patches.patched(one.get("doc").toString(), one.get("patch").toString());
  }

  private static JsonStructure json(String text) {
    try (JsonReader reader = Json.createReader(new StringReader(text))) {
      return reader.read();
    }
  }

  @Test
  void whatComesOfAPatchIsCheckedLikeABody() {
    Resource patient =
        CONTEXT
            .newJsonParser()
            .parseResource(
                org.hl7.fhir.r4.model.Patient.class,
                "{\"resourceType\":\"Patient\",\"active\":true}");
    Problem problem =
        assertThrows(
            Problem.class,
            () ->
                PATCHES.json(
                    patient, "[{\"op\":\"add\",\"path\":\"/colour\",\"value\":\"blue\"}]"));
    assertEquals(Problem.Kind.UNKNOWN_ELEMENT, problem.issues().get(0).kind());
    assertTrue(problem.issues().get(0).expressions().get(0).startsWith("Patient.colour"));
  }

  private static Document document(String name) throws Exception {
    DocumentBuilderFactory factory = DocumentBuilderFactory.newInstance();
    factory.setNamespaceAware(true);
    try (InputStream in = PatchesTest.class.getResourceAsStream(SUITE + name)) {
      return factory.newDocumentBuilder().parse(in);
    }
  }

  private static Resource resource(Element one, String name) throws Exception {
    Element holder = children(one, name).get(0);
    Node resource = holder.getElementsByTagNameNS("http://hl7.org/fhir", "*").item(0);
    Transformer transformer = TransformerFactory.newInstance().newTransformer();
    transformer.setOutputProperty(OutputKeys.OMIT_XML_DECLARATION, "yes");
    StringWriter text = new StringWriter();
    transformer.transform(new DOMSource(resource), new StreamResult(text));
    return (Resource) CONTEXT.newXmlParser().parseResource(text.toString());
  }

  private static String encoded(Resource resource) {
    return CONTEXT.newJsonParser().encodeResourceToString(resource);
  }

  private static List<Element> children(Element parent, String name) {
    List<Element> found = new ArrayList<>();
    for (Node node = parent.getFirstChild(); node != null; node = node.getNextSibling()) {
      if (node instanceof Element element && element.getTagName().equals(name)) {
        found.add(element);
      }
    }
    return found;
  }
}

package org.tidemark.http;

import static io.restassured.RestAssured.given;
import static org.hamcrest.Matchers.containsString;
import static org.hamcrest.Matchers.equalTo;
import static org.hamcrest.Matchers.not;
import static org.hamcrest.Matchers.startsWith;
import static org.junit.jupiter.api.Assertions.assertArrayEquals;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.test.junit.QuarkusTest;
import io.restassured.response.Response;
import jakarta.inject.Inject;
import java.io.IOException;
import java.util.List;
import org.apache.pdfbox.Loader;
import org.apache.pdfbox.pdmodel.PDDocument;
import org.apache.pdfbox.text.PDFTextStripper;
import org.hl7.fhir.r4.model.Binary;
import org.hl7.fhir.r4.model.CodeType;
import org.hl7.fhir.r4.model.HumanName;
import org.hl7.fhir.r4.model.Parameters;
import org.hl7.fhir.r4.model.Patient;
import org.hl7.fhir.r4.model.ServiceRequest;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.extension.ExtendWith;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.junit.jupiter.params.provider.ValueSource;
import org.tidemark.application.PlanViews;
import org.tidemark.clinic.ActsForHome;

/** The papers about a plan say what its records say, in the form that is asked for. */
@ExtendWith(ActsForHome.class)
@QuarkusTest
class PaperOperationsTest {
  private static final double POINTS_PER_MM = 72 / 25.4;

  @Inject PlanViews views;

  private static String address(PlanPerson person, String operation) {
    return "/fhir/CarePlan/" + person.plan().getIdElement().getIdPart() + "/$" + operation;
  }

  private static byte[] pdf(PlanPerson person, String operation) {
    return given()
        .accept("application/pdf")
        .get(address(person, operation))
        .then()
        .statusCode(200)
        .contentType("application/pdf")
        .extract()
        .asByteArray();
  }

  private static String text(byte[] pdf) {
    try (PDDocument document = Loader.loadPDF(pdf)) {
      return new PDFTextStripper().getText(document).replaceAll("\\s+", " ");
    } catch (IOException e) {
      throw new IllegalStateException(e);
    }
  }

  @Test
  void theHandoutSaysWhatIsInForce() {
    PlanPerson person = PlanPerson.enrolled();
    String text = text(pdf(person, "handout"));
    assertTrue(text.startsWith("Page 1"), text);
    assertTrue(text.contains("Tomas Brandvik"), text);
    for (ServiceRequest order : person.inForce().values()) {
      assertTrue(text.contains(order.getCode().getText()), text);
    }
    String towel = person.setting("towel-flexion-stretch", "towel-thickness");
    assertTrue(text.contains("Towel roll behind the knee: " + towel + " cm"), text);
    assertTrue(text.contains("Your calf is swollen."), text);
    assertFalse(text.contains("No exercise for now"), text);
  }

  @Test
  void underAWarningTheHandoutSaysFirstThatThereIsNoExercise() {
    PlanPerson person = PlanPerson.enrolled();
    person.send(person.warning(1));
    String text = text(pdf(person, "handout"));
    int no = text.indexOf("No exercise for now");
    assertTrue(no > 0 && no < text.indexOf("Stop all exercise"), text);
    assertFalse(text.contains("How to do it"), text);
    assertTrue(text(pdf(person, "progress-report")).contains("about a warning sign"));
  }

  @Test
  void theReportTellsOfTheWholeCourse() {
    PlanPerson person = PlanPerson.enrolled();
    person.settled(1, 8);
    person.send(person.range(8, 120));
    String text = text(pdf(person, "progress-report"));
    assertTrue(text.contains("MDC95"), text);
    assertTrue(text.contains("13 April 2026: Start: "), text);
    assertTrue(text.contains(": Harder: "), text);
  }

  @ParameterizedTest(name = "Accept {0}, _format {1}: {2}")
  @CsvSource({
    "application/pdf, , application/pdf",
    "application/fhir+json, , application/fhir+json;charset=UTF-8",
    "*/*, , application/fhir+json;charset=UTF-8",
    "'text/html,application/xhtml+xml,*/*;q=0.8', , text/html;charset=UTF-8",
    "'text/html;q=0.2,application/pdf', , application/pdf",
    "application/pdf, html, text/html;charset=UTF-8",
    "text/html, application/pdf, application/pdf",
    "application/pdf, json, application/fhir+json;charset=UTF-8",
    "application/fhir+xml, , application/fhir+xml;charset=UTF-8"
  })
  void theFormIsTheOneThatIsAskedFor(String accept, String format, String type) {
    PlanPerson person = PlanPerson.enrolled();
    var request = given().accept(accept);
    (format == null ? request : request.queryParam("_format", format))
        .get(address(person, "handout"))
        .then()
        .statusCode(200)
        .contentType(type);
  }

  @Test
  void anotherFormIsRefused() {
    PlanPerson person = PlanPerson.enrolled();
    given().accept("image/png").get(address(person, "handout")).then().statusCode(406);
    given().accept("application/pdf").get("/fhir/Patient").then().statusCode(406);
  }

  @Test
  void byPostTheParametersAreThoseOfTheBody() {
    PlanPerson person = PlanPerson.enrolled();
    Parameters parameters = new Parameters();
    parameters.addParameter().setName("paper").setValue(new CodeType("letter"));
    parameters.addParameter().setName("language").setValue(new CodeType("de"));
    Binary binary =
        PlanPerson.client()
            .operation()
            .onInstance(person.plan().getIdElement())
            .named("$handout")
            .withParameters(parameters)
            .returnResourceType(Binary.class)
            .execute();
    assertEquals("application/pdf", binary.getContentType());
    assertTrue(text(binary.getData()).contains("Ihre Übungen"));
    assertSize(binary.getData(), 215.9, 279.4);
    assertSize(pdf(person, "handout"), 210, 297);
  }

  private static void assertSize(byte[] pdf, double widthMm, double heightMm) {
    try (PDDocument document = Loader.loadPDF(pdf)) {
      for (var page : document.getPages()) {
        assertEquals(widthMm * POINTS_PER_MM, page.getMediaBox().getWidth(), 0.5);
        assertEquals(heightMm * POINTS_PER_MM, page.getMediaBox().getHeight(), 0.5);
      }
    } catch (IOException e) {
      throw new IllegalStateException(e);
    }
  }

  @ParameterizedTest(name = "language {0}, Accept-Language {1}: {2}")
  @CsvSource({
    "de, en, Ihre Übungen",
    "en, de, Your exercises",
    ", 'fr;q=0.2,de-CH;q=0.8', Ihre Übungen",
    ", , Your exercises",
    "sv, , Your exercises"
  })
  void theLanguageIsTheReaders(String language, String accepted, String title) {
    PlanPerson person = PlanPerson.enrolled();
    var request = given().accept("text/html");
    request = accepted == null ? request : request.header("Accept-Language", accepted);
    request = language == null ? request : request.queryParam("language", language);
    request
        .get(address(person, "handout"))
        .then()
        .statusCode(200)
        .body(containsString("<h1>" + title + "</h1>"));
  }

  @ParameterizedTest
  @ValueSource(strings = {"handout", "progress-report"})
  void whatCannotBeWrittenIsRefused(String operation) {
    given()
        .get("/fhir/CarePlan/no-such/$" + operation)
        .then()
        .statusCode(404)
        .body("resourceType", equalTo("OperationOutcome"));
    PlanPerson person = PlanPerson.enrolled();
    given()
        .accept("application/pdf")
        .queryParam("paper", "A3")
        .get(address(person, operation))
        .then()
        .statusCode(400)
        .contentType(startsWith("application/fhir+json"))
        .body("issue[0].expression[0]", equalTo("Parameters.parameter.where(name='paper')"));
  }

  /** The chart of a plan that runs is drawn from what was sent about it. */
  @Test
  void theProgressOfAPlanIsDrawn() {
    PlanPerson person = PlanPerson.enrolled();
    person.settled(1, 8);
    person.send(person.range(8, 120));
    String id = person.plan().getIdElement().getIdPart();
    String svg = views.progress(id, java.util.Locale.GERMAN).orElseThrow();
    assertEquals(8, svg.split("class=\"session settled\"", -1).length - 1);
    assertTrue(svg.contains("Beginn: Zurücksetzen mit"), svg);
    assertTrue(svg.contains("class=\"reading\""), svg);
    assertTrue(views.progress("nobody", java.util.Locale.GERMAN).isEmpty());
  }

  /** A name is text, whatever it looks like. */
  @Test
  void namesAreNoMarkup() {
    PlanPerson person = PlanPerson.here();
    Patient patient = new Patient();
    patient.setId(person.subject);
    patient.addName(new HumanName().setText("<script>alert(1)</script> & \"Tomas\" {cdi:x}"));
    person.amend(patient);
    person.send(person.baseline());
    person.send(person.equipment());
    person.enrol();
    for (String operation : List.of("handout", "progress-report")) {
      given()
          .accept("text/html")
          .get(address(person, operation))
          .then()
          .statusCode(200)
          .header("Content-Security-Policy", containsString("default-src 'none'"))
          .body(not(containsString("<script>")))
          .body(containsString("&lt;script&gt;"));
      assertTrue(text(pdf(person, operation)).contains("<script>alert(1)</script> & \"Tomas\""));
    }
  }

  @Test
  void thePageOfAPlanAndItsPdfAreWrittenFromTheSame() {
    PlanPerson person = PlanPerson.enrolled();
    Response json = given().accept("application/fhir+json").get(address(person, "handout"));
    byte[] carried = java.util.Base64.getDecoder().decode(json.jsonPath().getString("data"));
    assertEquals(text(pdf(person, "handout")), text(carried));
    assertArrayEquals(new byte[] {'%', 'P', 'D', 'F'}, java.util.Arrays.copyOf(carried, 4));
  }
}

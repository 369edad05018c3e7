package org.tidemark.recordsystem;

import static com.github.tomakehurst.wiremock.client.WireMock.aResponse;
import static com.github.tomakehurst.wiremock.client.WireMock.equalTo;
import static com.github.tomakehurst.wiremock.client.WireMock.get;
import static com.github.tomakehurst.wiremock.client.WireMock.getRequestedFor;
import static com.github.tomakehurst.wiremock.client.WireMock.urlEqualTo;
import static com.github.tomakehurst.wiremock.core.WireMockConfiguration.options;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import ca.uhn.fhir.context.FhirContext;
import com.github.tomakehurst.wiremock.WireMockServer;
import com.github.tomakehurst.wiremock.http.Fault;
import io.quarkus.narayana.jta.QuarkusTransaction;
import io.quarkus.test.junit.QuarkusTest;
import io.quarkus.test.junit.QuarkusTestProfile;
import io.quarkus.test.junit.TestProfile;
import io.restassured.RestAssured;
import io.restassured.response.Response;
import jakarta.inject.Inject;
import java.util.List;
import java.util.Map;
import java.util.UUID;
import java.util.stream.IntStream;
import org.hibernate.StatelessSession;
import org.hl7.fhir.r4.model.CodeType;
import org.hl7.fhir.r4.model.OperationOutcome;
import org.hl7.fhir.r4.model.Parameters;
import org.hl7.fhir.r4.model.Parameters.ParametersParameterComponent;
import org.hl7.fhir.r4.model.StringType;
import org.hl7.fhir.r4.model.UriType;
import org.junit.jupiter.api.AfterAll;
import org.junit.jupiter.api.BeforeAll;
import org.junit.jupiter.api.BeforeEach;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.extension.ExtendWith;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.junit.jupiter.params.provider.EnumSource;
import org.tidemark.clinic.ActsForHome;

/** Imports of NDJSON files (as FHIR Bulk Data Access 2.0 lists them) from a server with faults. */
@ExtendWith(ActsForHome.class)
@QuarkusTest
@TestProfile(ImportTest.FromNearby.class)
class ImportTest {
  /** A server on this machine may be fetched from, and is tried again at once. */
  public static final class FromNearby implements QuarkusTestProfile {
    @Override
    public Map<String, String> getConfigOverrides() {
      return Map.of(
          "tidemark.subscriptions.allowed-hosts",
          "127.0.0.1",
          "tidemark.import.pause",
          "1ms",
          "tidemark.import.patience",
          "2s");
    }
  }

  private static final FhirContext CONTEXT = FhirContext.forR4Cached();
  private static final WireMockServer THERE =
      new WireMockServer(options().dynamicPort().bindAddress("127.0.0.1"));

  @Inject Importing importing;
  @Inject StatelessSession session;
  private String run;

  @BeforeAll
  static void serve() {
    THERE.start();
  }

  @AfterAll
  static void stop() {
    THERE.stop();
  }

  @BeforeEach
  void begin() {
    THERE.resetAll();
    run = UUID.randomUUID().toString().substring(0, 8);
    QuarkusTransaction.requiringNew()
        .run(
            () ->
                session
                    .createNativeMutationQuery(
                        "update import_job set done = true where clinic = :clinic")
                    .setParameter("clinic", ActsForHome.HOME)
                    .executeUpdate());
  }

  private static String source() {
    return "http://127.0.0.1:" + THERE.port() + "/fhir";
  }

  private String patient(int number) {
    return patient(number, 1);
  }

  private String patient(int number, int version) {
    return ("{\"resourceType\":\"Patient\",\"id\":\"%s\",\"meta\":{\"versionId\":\"%d\","
            + "\"lastUpdated\":\"2026-01-01T00:00:00Z\"},\"name\":[{\"family\":\"Brandvik-%d\"}]}")
        .formatted(id(number), version, version);
  }

  private String observation(int number, String subject) {
    return ("{\"resourceType\":\"Observation\",\"id\":\"%s\",\"meta\":{\"versionId\":\"1\"},"
            + "\"status\":\"final\",\"code\":{\"coding\":[{\"system\":\"http://loinc.org\","
            + "\"code\":\"8867-4\"}]},\"subject\":{\"reference\":\"%s\"},"
            + "\"effectiveDateTime\":\"2026-03-02T18:00:00Z\",\"valueQuantity\":{\"value\":61,"
            + "\"system\":\"http://unitsofmeasure.org\",\"code\":\"/min\"}}")
        .formatted(id(number), subject);
  }

  private String id(int number) {
    return "im-" + run + "-" + number;
  }

  private static void gives(String file, String... lines) {
    THERE.stubFor(
        get(urlEqualTo("/files/" + file))
            .willReturn(aResponse().withBody(String.join("\n", lines) + "\n")));
  }

  private static Parameters asked(String... typesAndFiles) {
    Parameters asked = new Parameters();
    asked.addParameter("inputFormat", "application/fhir+ndjson");
    asked.addParameter("inputSource", new UriType(source()));
    for (int i = 0; i < typesAndFiles.length; i += 2) {
      ParametersParameterComponent input = asked.addParameter().setName("input");
      input.addPart().setName("type").setValue(new CodeType(typesAndFiles[i]));
      input
          .addPart()
          .setName("url")
          .setValue(
              new UriType("http://127.0.0.1:" + THERE.port() + "/files/" + typesAndFiles[i + 1]));
    }
    return asked;
  }

  private static Response ask(Parameters asked) {
    return RestAssured.given()
        .contentType("application/fhir+json")
        .header("Prefer", "respond-async")
        .body(CONTEXT.newJsonParser().encodeResourceToString(asked))
        .post("/fhir/$import");
  }

  /** Begins an import, and says where it is told how it stands. */
  private static String begun(String... typesAndFiles) {
    Response answer = ask(asked(typesAndFiles));
    assertEquals(202, answer.statusCode(), answer.asString());
    return answer.header("Content-Location").replace("$", "%24");
  }

  private static Parameters standing(String place, int status) {
    Response answer = RestAssured.given().urlEncodingEnabled(false).get(place);
    assertEquals(status, answer.statusCode(), answer.asString());
    return CONTEXT.newJsonParser().parseResource(Parameters.class, answer.asString());
  }

  private Parameters imported(String... typesAndFiles) {
    String place = begun(typesAndFiles);
    importing.work();
    return standing(place, 200);
  }

  /** Of a file: lines, written, known, refused. */
  private static List<Integer> counts(Parameters standing, int file) {
    ParametersParameterComponent input =
        standing.getParameter().stream()
            .filter(parameter -> parameter.getName().equals("input"))
            .toList()
            .get(file);
    return List.of("lines", "written", "known", "refused").stream()
        .map(name -> Integer.parseInt(part(input, name).getValue().primitiveValue()))
        .toList();
  }

  private static ParametersParameterComponent part(ParametersParameterComponent of, String name) {
    return of.getPart().stream()
        .filter(part -> part.getName().equals(name))
        .findFirst()
        .orElseThrow();
  }

  private static List<ParametersParameterComponent> refused(Parameters standing) {
    return standing.getParameter().stream()
        .filter(parameter -> parameter.getName().equals("refused"))
        .toList();
  }

  private static OperationOutcome outcome(ParametersParameterComponent refused) {
    return (OperationOutcome) part(refused, "outcome").getResource();
  }

  private static String problem(Parameters standing) {
    return standing.hasParameter("problem")
        ? standing.getParameter("problem").getValue().primitiveValue()
        : "";
  }

  private String family(int number) {
    return RestAssured.get("/fhir/Patient/" + id(number)).path("name[0].family");
  }

  private String version(int number) {
    return RestAssured.get("/fhir/Patient/" + id(number)).path("meta.versionId");
  }

  @Test
  void filesAreTakenWithPeopleFirstAndKeepTheirIds() {
    gives(
        "o",
        observation(1, "Patient/" + id(0)),
        "",
        observation(2, source() + "/Patient/" + id(0)));
    gives("p", patient(0));
    Parameters standing = imported("Observation", "o", "Patient", "p");
    assertEquals(List.of(1, 1, 0, 0), counts(standing, 0));
    assertEquals(List.of(3, 2, 0, 0), counts(standing, 1));
    assertEquals("Brandvik-1", family(0));
    Response second = RestAssured.get("/fhir/Observation/" + id(2));
    assertEquals("Patient/" + id(0), second.path("subject.reference"));
    assertEquals(source() + "/Observation/" + id(2) + "/_history/1", second.path("meta.source"));
  }

  @Test
  void whatIsHereInItsVersionIsNotWrittenAgain() {
    gives("p", patient(0), patient(1));
    assertEquals(List.of(2, 2, 0, 0), counts(imported("Patient", "p"), 0));
    gives("p", patient(0), patient(1, 2));
    assertEquals(List.of(2, 1, 1, 0), counts(imported("Patient", "p"), 0));
    assertEquals("1", version(0));
    assertEquals("2", version(1));
    assertEquals("Brandvik-2", family(1));
  }

  @Test
  void aRecordOfSomebodyElseIsNotWrittenOver() {
    RestAssured.given()
        .contentType("application/fhir+json")
        .body("{\"resourceType\":\"Patient\",\"id\":\"%s\"}".formatted(id(0)))
        .put("/fhir/Patient/" + id(0))
        .then()
        .statusCode(201);
    gives("p", patient(0), patient(1));
    Parameters standing = imported("Patient", "p");
    assertEquals(List.of(2, 1, 0, 1), counts(standing, 0));
    assertEquals(
        "Another record has this id here.",
        outcome(refused(standing).get(0)).getIssueFirstRep().getDiagnostics());
    assertEquals("1", version(0));
  }

  /** Holding a plan, or going on with it, is a clinician's act. */
  @Test
  void aPlanThatIsHereIsNotChanged() {
    String plan =
        ("{\"resourceType\":\"CarePlan\",\"id\":\"%s\",\"meta\":{\"versionId\":\"1\"},"
                + "\"status\":\"active\",\"intent\":\"plan\","
                + "\"subject\":{\"reference\":\"Patient/%s\"}}")
            .formatted(id(1), id(0));
    gives("p", patient(0));
    gives("c", plan);
    assertEquals(List.of(1, 1, 0, 0), counts(imported("Patient", "p", "CarePlan", "c"), 1));
    gives("c", plan.replace("active", "on-hold").replace("\"1\"", "\"2\""));
    Parameters standing = imported("CarePlan", "c");
    assertEquals(List.of(1, 0, 0, 1), counts(standing, 0));
    assertEquals("active", RestAssured.get("/fhir/CarePlan/" + id(1)).path("status"));
    gives("c", plan);
    assertEquals(List.of(1, 0, 1, 0), counts(imported("CarePlan", "c"), 0));
  }

  @Test
  void aLineThatCannotBeTakenHoldsNoOtherUp() {
    gives(
        "p",
        patient(0),
        "{\"resourceType\":\"Patient\"",
        patient(1).replace("\"name\"", "\"nam\""),
        observation(2, "Patient/" + id(0)),
        patient(3).replace("\"id\":\"" + id(3) + "\",", ""),
        patient(4));
    Parameters standing = imported("Patient", "p");
    assertEquals(List.of(6, 2, 0, 4), counts(standing, 0));
    assertEquals(
        List.of("2", "3", "4", "5"),
        refused(standing).stream()
            .map(one -> part(one, "line").getValue().primitiveValue())
            .toList());
    assertEquals(
        "Patient.nam",
        outcome(refused(standing).get(1)).getIssueFirstRep().getExpression().get(0).getValue());
    assertEquals("Brandvik-1", family(4));
  }

  @Test
  void theSameRecordTwiceInAFileEndsAsItsLastLine() {
    gives("p", patient(0, 1), patient(0, 2));
    assertEquals(List.of(2, 2, 0, 0), counts(imported("Patient", "p"), 0));
    assertEquals("Brandvik-2", family(0));
  }

  /** A file of 130 lines is cut off in its third piece, and then given whole. */
  @Test
  void afterABreakOnlyWhatIsMissingIsWritten() {
    String[] lines = IntStream.range(0, 130).mapToObj(this::patient).toArray(String[]::new);
    String whole = String.join("\n", lines) + "\n";
    int most = String.join("\n", List.of(lines).subList(0, 110)).length();
    THERE.stubFor(
        get(urlEqualTo("/files/p"))
            .willReturn(
                aResponse()
                    .withHeader("Content-Length", Integer.toString(whole.length()))
                    .withBody(whole.substring(0, most))));
    String place = begun("Patient", "p");
    importing.work();
    Parameters broken = standing(place, 202);
    assertTrue(problem(broken).contains("could not be read to its end"), problem(broken));
    // What had come before the break may be taken or not.
    int taken = counts(broken, 0).get(0);
    assertTrue(taken <= 100 && taken % 50 == 0, () -> "taken: " + taken);
    assertEquals(List.of(taken, taken, 0, 0), counts(broken, 0));
    gives("p", lines);
    importing.work();
    Parameters done = standing(place, 200);
    assertEquals("", problem(done));
    assertEquals(List.of(130, 130, 0, 0), counts(done, 0));
    assertEquals("1", version(0));
    assertEquals("1", version(129));
  }

  @ParameterizedTest
  @CsvSource({"500, 0", "404, 0", "302, 0", "200, 4000"})
  void aServerThatDoesNotGiveItsFileIsAskedAgain(int status, int delay) {
    gives("whole", patient(0));
    THERE.stubFor(
        get(urlEqualTo("/files/p"))
            .willReturn(aResponse().withStatus(status).withFixedDelay(delay)));
    String place = begun("Patient", "p");
    importing.work();
    Parameters waiting = standing(place, 202);
    assertTrue(
        problem(waiting).matches("The file 1 (was answered with \\d+|did not come in time)\\."),
        problem(waiting));
    gives("p", patient(0));
    importing.work();
    assertEquals(List.of(1, 1, 0, 0), counts(standing(place, 200), 0));
  }

  @ParameterizedTest
  @EnumSource(Fault.class)
  void aConnectionThatFailsIsTriedAgain(Fault fault) {
    THERE.stubFor(get(urlEqualTo("/files/p")).willReturn(aResponse().withFault(fault)));
    String place = begun("Patient", "p");
    importing.work();
    assertTrue(!problem(standing(place, 202)).isEmpty());
    gives("p", patient(0));
    importing.work();
    assertEquals(List.of(1, 1, 0, 0), counts(standing(place, 200), 0));
  }

  @Test
  void anImportThatIsCancelledIsNoMore() {
    gives("p", patient(0));
    String place = begun("Patient", "p");
    String job = place.replaceFirst(".*job=", "");
    RestAssured.given()
        .urlEncodingEnabled(false)
        .contentType("application/fhir+json")
        .body(
            "{\"resourceType\":\"Parameters\",\"parameter\":[{\"name\":\"job\",\"valueString\":\"%s\"}]}"
                .formatted(job))
        .post("/fhir/%24import-cancel")
        .then()
        .statusCode(200);
    importing.work();
    assertEquals(404, RestAssured.given().urlEncodingEnabled(false).get(place).statusCode());
    THERE.verify(0, getRequestedFor(urlEqualTo("/files/p")));
  }

  @Test
  void theFormatIsAskedFor() {
    gives("p", patient(0));
    imported("Patient", "p");
    THERE.verify(
        getRequestedFor(urlEqualTo("/files/p"))
            .withHeader("Accept", equalTo("application/fhir+ndjson")));
  }

  @Test
  void whatIsAskedForWronglyIsRefused() {
    Parameters noFiles = asked();
    Parameters elsewhere = asked("Patient", "p");
    elsewhere.getParameter("inputSource").setValue(new UriType("http://10.0.0.1/fhir"));
    Parameters unknown = asked("Patient", "p");
    unknown.addParameter("storageDetail", "x");
    Parameters otherFormat = asked("Patient", "p");
    otherFormat.getParameter("inputFormat").setValue(new StringType("text/csv"));
    Parameters noSource = asked("Patient", "p");
    noSource.getParameter().removeIf(one -> one.getName().equals("inputSource"));
    Map<Parameters, String> wrong =
        Map.of(
            noFiles,
            "input",
            elsewhere,
            "inputSource",
            unknown,
            "storageDetail",
            noSource,
            "inputSource",
            asked("Subscription", "s"),
            "input",
            asked("Binary", "b"),
            "input");
    wrong.forEach(
        (asked, named) -> {
          Response answer = ask(asked);
          assertEquals(400, answer.statusCode() / 100 * 100, answer.asString());
          assertEquals(
              "Parameters.parameter.where(name='" + named + "')",
              answer.path("issue[0].expression[0]"));
        });
    assertEquals(
        400,
        RestAssured.given()
            .contentType("application/fhir+json")
            .body(CONTEXT.newJsonParser().encodeResourceToString(asked("Patient", "p")))
            .post("/fhir/$import")
            .statusCode());
  }
}

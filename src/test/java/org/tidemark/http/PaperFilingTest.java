package org.tidemark.http;

import static io.restassured.RestAssured.given;
import static org.junit.jupiter.api.Assertions.assertArrayEquals;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.test.junit.QuarkusTest;
import jakarta.inject.Inject;
import java.sql.Connection;
import java.sql.SQLException;
import java.sql.Statement;
import java.util.List;
import java.util.concurrent.CountDownLatch;
import java.util.concurrent.ExecutorService;
import java.util.concurrent.Executors;
import java.util.concurrent.TimeUnit;
import javax.sql.DataSource;
import org.hl7.fhir.r4.model.Binary;
import org.hl7.fhir.r4.model.DocumentReference;
import org.hl7.fhir.r4.model.DocumentReference.DocumentRelationshipType;
import org.hl7.fhir.r4.model.Enumerations.DocumentReferenceStatus;
import org.hl7.fhir.r4.model.Patient;
import org.junit.jupiter.api.BeforeEach;
import org.junit.jupiter.api.Test;
import org.tidemark.application.PaperFiling;

/** The papers of a plan lie beside it, and follow what is in force. */
@QuarkusTest
class PaperFilingTest {
  @Inject PaperFiling filing;
  @Inject DataSource database;

  private static List<DocumentReference> papers(PlanPerson person, DocumentReferenceStatus status) {
    return person.all(DocumentReference.class).stream()
        .filter(paper -> paper.getStatus() == status)
        .toList();
  }

  private static List<DocumentReference> current(PlanPerson person) {
    return papers(person, DocumentReferenceStatus.CURRENT);
  }

  /** Plans of other tests are due too, and only so many are done at once. */
  @BeforeEach
  void nobodyElseIsDue() throws SQLException {
    try (Connection connection = database.getConnection();
        Statement statement = connection.createStatement()) {
      statement.execute("delete from paper_due");
    }
  }

  @Test
  void theFirstPrescriptionIsFiledWithItsPlan() {
    PlanPerson person = PlanPerson.enrolled();
    assertEquals(List.of(), current(person));
    filing.file();
    List<DocumentReference> papers = current(person);
    assertEquals(
        List.of("11508-9", "69730-0"),
        papers.stream().map(p -> p.getType().getCodingFirstRep().getCode()).sorted().toList());
    for (DocumentReference paper : papers) {
      assertEquals(person.subject, paper.getSubject().getReference());
      assertEquals(
          "CarePlan/" + person.plan().getIdElement().getIdPart(),
          paper.getContext().getRelatedFirstRep().getReference());
      assertEquals("en", paper.getContentFirstRep().getAttachment().getLanguage());
      String url = paper.getContentFirstRep().getAttachment().getUrl();
      Binary binary = PlanPerson.client().read().resource(Binary.class).withUrl(url).execute();
      assertEquals("application/pdf", binary.getContentType());
      assertEquals(binary.getData().length, paper.getContentFirstRep().getAttachment().getSize());
      byte[] raw =
          given()
              .accept("application/pdf")
              .get("/fhir/" + url)
              .then()
              .statusCode(200)
              .contentType("application/pdf")
              .extract()
              .asByteArray();
      assertArrayEquals(binary.getData(), raw);
    }
  }

  /** Not with each report: only when what is in force is another. */
  @Test
  void aChangeReplacesThePapersAndAReportDoesNot() {
    PlanPerson person = PlanPerson.enrolled();
    filing.file();
    List<String> first = ids(current(person));
    List<String> asked = person.asked();
    person.send(person.session(1));
    filing.file();
    assertEquals(asked, person.asked());
    assertEquals(first, ids(current(person)));
    person.send(person.warning(2));
    filing.file();
    List<DocumentReference> second = current(person);
    assertEquals(2, second.size());
    assertEquals(first, ids(papers(person, DocumentReferenceStatus.SUPERSEDED)));
    assertEquals(
        first.stream().map(id -> "DocumentReference/" + id).toList(),
        second.stream()
            .map(DocumentReference::getRelatesToFirstRep)
            .peek(r -> assertEquals(DocumentRelationshipType.REPLACES, r.getCode()))
            .map(r -> r.getTarget().getReference())
            .sorted()
            .toList());
  }

  @Test
  void severalWorkersAtOnceFileOnce() throws InterruptedException {
    PlanPerson person = PlanPerson.enrolled();
    ExecutorService workers = Executors.newFixedThreadPool(4);
    CountDownLatch start = new CountDownLatch(1);
    for (int i = 0; i < 4; i++) {
      workers.submit(
          () -> {
            start.await();
            filing.file();
            return null;
          });
    }
    start.countDown();
    workers.shutdown();
    assertTrue(workers.awaitTermination(120, TimeUnit.SECONDS));
    filing.file();
    assertEquals(2, person.all(DocumentReference.class).size());
  }

  @Test
  void theyAreInThePersonsLanguage() {
    PlanPerson person = PlanPerson.here();
    Patient patient = new Patient();
    patient.setId(person.subject);
    patient.addName().setFamily("Brandvik").addGiven("Tomas");
    patient.addCommunication().getLanguage().addCoding().setSystem("urn:ietf:bcp:47").setCode("de");
    person.amend(patient);
    person.send(person.baseline());
    person.send(person.equipment());
    person.enrol();
    filing.file();
    assertFalse(current(person).isEmpty());
    current(person)
        .forEach(
            paper -> assertEquals("de", paper.getContentFirstRep().getAttachment().getLanguage()));
  }

  @Test
  void nobodyWritesThemFromOutside() {
    DocumentReference paper = new DocumentReference();
    paper.setStatus(DocumentReferenceStatus.CURRENT);
    PlanPerson.post(paper).statusCode(405);
  }

  private static List<String> ids(List<DocumentReference> papers) {
    return papers.stream().map(paper -> paper.getIdElement().getIdPart()).sorted().toList();
  }
}

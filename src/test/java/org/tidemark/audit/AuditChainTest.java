package org.tidemark.audit;

import static io.restassured.RestAssured.given;
import static org.junit.jupiter.api.Assertions.assertEquals;

import ca.uhn.fhir.context.FhirContext;
import io.agroal.api.AgroalDataSource;
import io.quarkus.test.junit.QuarkusTest;
import jakarta.inject.Inject;
import java.nio.file.Files;
import java.nio.file.Path;
import java.sql.Connection;
import java.sql.SQLException;
import java.sql.Statement;
import java.time.Clock;
import java.util.ArrayList;
import java.util.List;
import java.util.Optional;
import java.util.concurrent.ExecutorService;
import java.util.concurrent.Executors;
import java.util.concurrent.Future;
import org.hl7.fhir.r4.model.AuditEvent;
import org.junit.jupiter.api.BeforeEach;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.extension.ExtendWith;
import org.junit.jupiter.api.io.TempDir;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.ValueSource;
import org.tidemark.clinic.ActsForHome;
import org.tidemark.clinic.Clinics;
import org.tidemark.store.AuditStore;

/** Whoever removes, changes, adds or moves an entry of the audit trail is found out. */
@ExtendWith(ActsForHome.class)
@QuarkusTest
class AuditChainTest {
  private static final String COPY =
      "clinic, recorded_ms, interaction, action, outcome, status, client, user_ref, address,"
          + " request_id, entity, entity_version, patient, asked";

  @Inject AuditTrail trail;
  @Inject AuditCheck check;
  @Inject AuditStore store;
  @Inject AuditEventWriter writer;
  @Inject FhirContext context;
  @Inject Clock clock;
  @Inject Clinics clinics;
  @Inject AgroalDataSource database;

  @TempDir Path folder;

  private long last;

  @BeforeEach
  void someEntries() {
    for (int i = 0; i < 6; i++) {
      given().get("/fhir/Patient?_count=1").then().statusCode(200);
    }
    trail.catchUp();
    last = head();
    assertEquals(Optional.empty(), check.run().broken());
  }

  private long head() {
    return io.quarkus.narayana.jta.QuarkusTransaction.requiringNew().call(store::head).seq();
  }

  private void sql(String... statements) throws SQLException {
    try (Connection connection = database.getConnection();
        Statement statement = connection.createStatement()) {
      seesRows(statement);
      for (String sql : statements) {
        statement.execute(sql);
      }
    }
  }

  /** PostgreSQL shows the rows of a clinic to whoever says that it is for that one. */
  private static void seesRows(Statement statement) throws SQLException {
    if (statement.getConnection().getMetaData().getURL().contains("postgresql")) {
      statement.execute("set tidemark.clinic = '" + ActsForHome.HOME + "'");
    }
  }

  /** What a command says. */
  private int command(String... args) {
    AuditCommand command = new AuditCommand();
    command.trail = trail;
    command.check = check;
    command.clinics = clinics;
    command.writer = writer;
    command.context = context;
    return command.run(args);
  }

  /** Plants something, checks, and takes it away. */
  private void isFound(long broken, String[] plant, String[] undo) throws SQLException {
    sql(plant);
    try {
      assertEquals(Optional.of(broken), check.run().broken());
      assertEquals(1, command("check"));
    } finally {
      sql(undo);
    }
    assertEquals(Optional.empty(), check.run().broken());
    assertEquals(0, command("check"));
  }

  private static String[] all(String... statements) {
    return statements;
  }

  private String at(long seq) {
    return " where seq = " + seq;
  }

  private static final String KEEP = "create table audit_kept as select * from audit_event";
  private static final String BACK = "insert into audit_event select * from audit_kept";
  private static final String GONE = "drop table audit_kept";

  @Test
  void aRemovedEntryIsFound() throws SQLException {
    isFound(
        last - 2,
        all(KEEP + at(last - 2), "delete from audit_event" + at(last - 2)),
        all(BACK, GONE));
  }

  @Test
  void removedEntriesAtTheEndAreFound() throws SQLException {
    isFound(
        last - 1,
        all(
            KEEP + " where seq > " + (last - 2),
            "delete from audit_event where seq > " + (last - 2)),
        all(BACK, GONE));
  }

  @ParameterizedTest
  @ValueSource(
      strings = {
        "recorded_ms = recorded_ms + 1",
        "interaction = 'read'",
        "action = 'R'",
        "outcome = '4'",
        "status = 404",
        "client = 'other'",
        "user_ref = 'Practitioner/other'",
        "address = '10.0.0.1'",
        "request_id = 'other'",
        "entity = 'Goal/other'",
        "entity_version = 9",
        "patient = 'Patient/other'",
        "asked = 'GET /other'",
        "hash = 'other'"
      })
  void aChangedEntryIsFound(String change) throws SQLException {
    String column = change.split(" ")[0];
    isFound(
        last - 2,
        all(KEEP + at(last - 2), "update audit_event set " + change + at(last - 2)),
        all(
            "update audit_event set %s = (select %s from audit_kept)".formatted(column, column)
                + at(last - 2),
            GONE));
  }

  /** A text that moves from one value to the next is another entry. */
  @Test
  void aTextThatMovedToAnotherValueIsFound() throws SQLException {
    isFound(
        last - 1,
        all(
            KEEP + at(last - 1),
            "update audit_event set client = request_id, request_id = ''" + at(last - 1)),
        all(
            "update audit_event set client = '', request_id = (select request_id from audit_kept)"
                + at(last - 1),
            GONE));
  }

  @Test
  void anEntryThatWasPutInIsFound() throws SQLException {
    String add = "insert into audit_event (seq, hash, " + COPY + ") select seq + %d, hash, " + COPY;
    isFound(
        last,
        all(
            KEEP + " where seq > " + (last - 2),
            "delete from audit_event where seq > " + (last - 2),
            add.formatted(1) + " from audit_kept",
            add.formatted(0) + " from audit_kept" + at(last - 1)),
        all("delete from audit_event where seq > " + (last - 2), BACK, GONE));
  }

  @Test
  void anEntryAfterTheEndIsFound() throws SQLException {
    isFound(
        last + 1,
        all(
            "insert into audit_event (seq, hash, %s) select seq + 1, hash, %s from audit_event"
                    .formatted(COPY, COPY)
                + at(last)),
        all("delete from audit_event" + at(last + 1)));
  }

  @Test
  void entriesThatChangedPlacesAreFound() throws SQLException {
    String[] swap =
        all(
            "update audit_event set seq = -1" + at(last - 3),
            "update audit_event set seq = " + (last - 3) + at(last - 2),
            "update audit_event set seq = " + (last - 2) + at(-1));
    isFound(last - 3, swap, swap);
  }

  /** Several instances chain at once: each entry has one place. */
  @Test
  void severalWorkersShareOneChain() throws Exception {
    long before = head();
    ExecutorService pool = Executors.newFixedThreadPool(4);
    List<Future<?>> running = new ArrayList<>();
    for (int worker = 0; worker < 4; worker++) {
      // A trail of its own, like that of another instance.
      AuditTrail other = new AuditTrail(store, clock, clinics, "on", 0);
      running.add(
          pool.submit(
              () -> {
                for (int i = 0; i < 25; i++) {
                  Visit visit = new Visit(Call.page("GET /"), "::1", "r", ActsForHome.HOME, clock);
                  other.end(visit, 200);
                  other.catchUpAll();
                }
              }));
    }
    for (Future<?> one : running) {
      one.get();
    }
    pool.shutdown();
    assertEquals(before + 100, head());
    assertEquals(Optional.empty(), check.run().broken());
  }

  @Test
  void theExportHasAnEventALine() throws Exception {
    Path file = folder.resolve("trail.ndjson");
    assertEquals(0, command("export", file.toString()));
    List<String> lines = Files.readAllLines(file);
    assertEquals((int) (head() - check.run().head().removedSeq()), lines.size());
    AuditEvent newest =
        context.newJsonParser().parseResource(AuditEvent.class, lines.get(lines.size() - 1));
    assertEquals(Long.toString(head()), newest.getIdElement().getIdPart());
    assertEquals(1, command("export", folder.resolve("no/such/folder").toString()));
    assertEquals(2, command("burn"));
  }

  /** What retention removes does not break the chain, and is told in it. */
  @Test
  void whatIsTooOldIsRemovedFromTheBeginningOnly() throws Exception {
    AuditTrail keeping = new AuditTrail(store, clock, clinics, "on", 30);
    keeping.removeBefore(0);
    assertEquals(last, head(), "nothing is as old as that");
    Thread.sleep(2);
    keeping.removeBefore(clock.millis());
    trail.catchUp();
    AuditCheck.Result result = check.run();
    assertEquals(last, result.head().removedSeq());
    assertEquals(Optional.empty(), result.broken());
    List<AuditEvent> left = new ArrayList<>();
    check.each(link -> left.add(writer.write(link)));
    assertEquals(1, left.size());
    assertEquals("D", left.get(0).getAction().toCode());
    isFound(
        last + 1,
        all(KEEP + at(last + 1), "delete from audit_event" + at(last + 1)),
        all(BACK, GONE));
  }
}

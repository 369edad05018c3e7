package org.tidemark.http;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.net.http.HttpResponse;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.List;
import java.util.Map;
import org.hl7.fhir.r4.model.OperationOutcome;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.io.TempDir;
import org.tidemark.store.DurableH2Driver;
import org.tidemark.store.FailedStore;
import org.tidemark.store.FullDisk;

/**
 * The packaged service on a disk that fills up: it says so, ends, and has everything that it had
 * acknowledged when it is started anew with room again.
 */
class FullDiskIT {
  private static final int PORT = PlanPerson.PORT;

  @TempDir Path folder;

  @Test
  void aFullDiskLosesNothingAndLeavesNoProcessThatServesNobody() throws Exception {
    Path full = folder.resolve("full");
    Map<String, String> settings =
        Map.of(
            FullDisk.SWITCH,
            full.toString(),
            "QUARKUS_DATASOURCE_H2_JDBC_URL",
            "jdbc:h2:%s:%s:%s;RETENTION_TIME=0;LOCK_TIMEOUT=10000;DB_CLOSE_ON_EXIT=FALSE"
                .formatted(DurableH2Driver.SCHEME, FullDisk.SCHEME, folder.resolve("d/tidemark")));
    PackagedService service = PackagedService.startIn(FullDisk.class, PORT, settings).awaitReady();
    Load load = new Load();
    try {
      for (int person = 0; person < 3; person++) {
        load.reports(PlanPerson.enrolled(), 1);
      }
      load.transactions(PlanPerson.here());
      load.awaitAnswers(60);
      Files.createFile(full);
      assertEquals(FailedStore.EXIT_CODE, service.awaitEnd());
      load.awaitEnd();
    } finally {
      service.stop();
    }
    assertTrue(service.log().contains("No space left on device"), "it says why");
    for (HttpResponse<String> refusal : load.refusals()) {
      requireUnavailable(refusal);
    }
    assertTrue(!load.refusals().isEmpty(), "those who met the failure were answered");

    Files.delete(full);
    PackagedService again = PackagedService.startIn(FullDisk.class, PORT, settings).awaitReady();
    try {
      load.requireAll();
      PlanPerson.enrolled().settled(1, 1);
    } finally {
      again.stop();
    }
  }

  private static void requireUnavailable(HttpResponse<String> refusal) {
    assertEquals(503, refusal.statusCode(), refusal.body());
    assertEquals(List.of("10"), refusal.headers().allValues("Retry-After"));
    OperationOutcome outcome =
        PlanPerson.CONTEXT.newJsonParser().parseResource(OperationOutcome.class, refusal.body());
    assertEquals(
        "unavailable", outcome.getIssueFirstRep().getDetails().getCodingFirstRep().getCode());
    assertEquals(OperationOutcome.IssueType.NOSTORE, outcome.getIssueFirstRep().getCode());
  }
}

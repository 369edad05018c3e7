package org.tidemark.store;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.narayana.jta.QuarkusTransaction;
import io.quarkus.test.junit.QuarkusTest;
import jakarta.inject.Inject;
import java.time.Instant;
import java.util.List;
import java.util.Optional;
import java.util.Set;
import java.util.TreeSet;
import org.hibernate.StatelessSession;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.extension.ExtendWith;
import org.tidemark.clinic.ActingClinic;
import org.tidemark.clinic.ActsForHome;

/**
 * New records wait until something is asked for that could be one of them: whoever asks within the
 * transaction finds them, however it asks, and whoever looks past the store sees them come.
 */
@ExtendWith(ActsForHome.class)
@QuarkusTest
class UnwrittenTest {
  private static final String TYPE = "Observation";

  private final String id = ResourceStore.newId();
  private final String person = "Patient/" + ResourceStore.newId();

  @Inject ResourceStore store;
  @Inject StatelessSession session;

  private void together(Runnable work) {
    QuarkusTransaction.requiringNew()
        .run(
            () ->
                store.together(
                    () -> {
                      work.run();
                      return null;
                    }));
  }

  private void write(String id, long version) {
    SearchValues values =
        new SearchValues(
            Set.of(new SearchValues.Token("code", "http://loinc.org", "29463-7")),
            Set.of(new SearchValues.Uri("subject", person)),
            Set.of(new SearchValues.Span("date", 1, 2)),
            Set.of(new SearchValues.Measure("value-quantity", "g", 70_000, "kg", 70)),
            1);
    store.write(
        new Stored(TYPE, id, version, person, "{}", Instant.ofEpochMilli(version)),
        values,
        version - 1);
  }

  private long rows(String table, String id) {
    return session
        .createNativeQuery(
            "select count(*) as n from " + table + " where clinic = :clinic and resource_id = :id",
            Long.class)
        .addScalar("n", Long.class)
        .setParameter("clinic", ActingClinic.current())
        .setParameter("id", id)
        .uniqueResult();
  }

  @Test
  void aRecordIsWrittenWithAllThatItIsFoundByAtTheEndOfTheWork() {
    together(
        () -> {
          write(id, 1);
          assertEquals(0, rows("resource_current", id));
        });
    QuarkusTransaction.requiringNew()
        .run(
            () -> {
              List<String> tables =
                  List.of(
                      "resource_current",
                      "search_token",
                      "search_uri",
                      "search_date",
                      "search_quantity");
              tables.forEach(table -> assertEquals(1, rows(table, id), table));
            });
  }

  @Test
  void whoAsksForItFindsItAndWhoAsksForAnotherLetsItWait() {
    String another = ResourceStore.newId();
    together(
        () -> {
          write(id, 1);
          assertEquals(0, store.currentVersion(TYPE, another));
          assertTrue(store.find(TYPE, another).isEmpty());
          assertEquals(0, rows("resource_current", id));
          assertEquals(1, store.currentVersion(TYPE, id));
        });
    together(
        () -> {
          write(another, 1);
          assertEquals("{}", store.find(TYPE, another).orElseThrow().json());
        });
  }

  @Test
  void everyOtherWayOfReadingFindsItToo() {
    together(
        () -> {
          write(id, 1);
          assertEquals(List.of(TYPE + "/" + id), store.referrers(person, 9));
        });
    String next = ResourceStore.newId();
    together(
        () -> {
          write(next, 1);
          assertEquals(Set.of(), store.unused(TYPE, Set.of(next)));
        });
    String last = ResourceStore.newId();
    together(
        () -> {
          write(last, 1);
          assertEquals(List.of(person), store.targets(TYPE, List.of(last), "subject"));
          write(last, 2);
          assertEquals(1, store.findVersion(TYPE, last, 1).orElseThrow().version());
          store.delete(store.find(TYPE, last).orElseThrow(), Instant.ofEpochMilli(3));
          assertEquals(3, store.deletion(TYPE, last).orElseThrow().version());
        });
  }

  @Test
  void nothingStaysOfWorkThatFails() {
    assertThrows(
        IllegalStateException.class,
        () ->
            together(
                () -> {
                  write(id, 1);
                  throw new IllegalStateException("no");
                }));
    assertEquals(
        Optional.empty(), QuarkusTransaction.requiringNew().call(() -> store.find(TYPE, id)));
  }

  @Test
  void ofTwoWhoWriteTheSameOneHasLost() {
    together(() -> write(id, 1));
    RuntimeException lost =
        assertThrows(RuntimeException.class, () -> together(() -> write(id, 1)));
    assertTrue(LostRace.isLostRace(lost), lost::toString);
  }

  @Test
  void turnsAreTakenForThoseWhoAreKnownAndThoseWhoAreNew() {
    String known = "Patient/" + ResourceStore.newId();
    together(() -> store.takeTurns(new TreeSet<>(Set.of(known))));
    together(
        () -> {
          store.takeTurns(new TreeSet<>(Set.of(known, person)));
          store.takeTurns(new TreeSet<>(Set.of(person)));
        });
    Set<String> held =
        QuarkusTransaction.requiringNew()
            .call(
                () ->
                    Set.copyOf(
                        session
                            .createNativeQuery(
                                "select subject from subject_lock where clinic = :clinic and subject in (:of)",
                                String.class)
                            .setParameter("clinic", ActingClinic.current())
                            .setParameterList("of", List.of(known, person))
                            .list()));
    assertEquals(Set.of(known, person), held);
  }
}

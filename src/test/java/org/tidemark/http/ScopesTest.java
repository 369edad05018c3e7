package org.tidemark.http;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.test.junit.QuarkusTest;
import io.quarkus.test.junit.TestProfile;
import jakarta.inject.Inject;
import java.util.HashSet;
import java.util.List;
import java.util.Set;
import java.util.UUID;
import java.util.stream.Stream;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.Observation;
import org.junit.jupiter.api.AfterEach;
import org.junit.jupiter.api.BeforeEach;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.MethodSource;
import org.tidemark.application.PaperFiling;
import org.tidemark.http.Sender.Answer;

/**
 * Every scope against every interaction on a running service with two people, A and B: a token sees
 * and changes what its scopes name, and of B nothing that is A's alone shows. What is expected is
 * worked out here from SMART App Launch 2.2, "Scopes for requesting FHIR resources", and not by the
 * service's own classes.
 */
@QuarkusTest
@TestProfile(SmartProfile.class)
class ScopesTest {
  private static final List<String> CONTEXTS = List.of("patient", "user", "system");
  private static final List<String> ACTIONS =
      List.of(
          "c", "r", "u", "d", "s", "rs", "cu", "us", "cs", "cud", "cruds", "read", "write", "*");

  @Inject PaperFiling papers;
  private PlanPerson a;
  private PlanPerson b;
  private Sender all;

  @BeforeEach
  void people() {
    TwoPeople people = TwoPeople.seeded(papers);
    a = people.a();
    b = people.b();
    all = people.all();
  }

  @AfterEach
  void open() {
    TwoPeople.leave();
  }

  private Sender with(String scopes) {
    return new Sender(SmartProfile.token(scopes, TwoPeople.id(a.subject)));
  }

  /** An Observation that no plan needs. */
  private static Observation pulse(PlanPerson of) {
    Observation pulse = of.painScore(PlanPerson.at(1, "10:00"), 1);
    pulse.getCode().getCodingFirstRep().setCode("8867-4");
    pulse.addIdentifier().setSystem("https://ward.example").setValue(UUID.randomUUID().toString());
    return pulse;
  }

  private static String stored(PlanPerson of) {
    return of.send(pulse(of)).getIdElement().getIdPart();
  }

  private String condition(String id) {
    Observation stored =
        PlanPerson.CONTEXT
            .newJsonParser()
            .parseResource(Observation.class, all.get("/fhir/Observation/" + id).body());
    return "identifier=https://ward.example|" + stored.getIdentifierFirstRep().getValue();
  }

  // ---- the matrix ----

  /** A scope, and what it means for Observations of A and of B. */
  record Given(String scope, Set<Character> letters, boolean everyone) {
    boolean has(char... wanted) {
      for (char letter : wanted) {
        if (!letters.contains(letter)) {
          return false;
        }
      }
      return true;
    }
  }

  static Stream<String> scopes() {
    return CONTEXTS.stream()
        .flatMap(
            context ->
                Stream.of("Observation", "*", "Goal")
                    .flatMap(
                        type -> ACTIONS.stream().map(word -> context + "/" + type + "." + word)));
  }

  private static Given given(String scope) {
    String word = scope.substring(scope.indexOf('.') + 1);
    String letters =
        switch (word) {
          case "read" -> "rs";
          case "write" -> "cud";
          case "*" -> "cruds";
          default -> word;
        };
    Set<Character> granted = new HashSet<>();
    if (!scope.contains("/Goal.")) {
      letters.chars().forEach(letter -> granted.add((char) letter));
    }
    return new Given(scope, granted, !scope.startsWith("patient/"));
  }

  @ParameterizedTest(name = "{0}")
  @MethodSource("scopes")
  void aScopeLetsItsInteractionsThroughAndNoOther(String text) {
    Given given = given(text);
    Sender sender = with(text);
    for (PlanPerson person : List.of(a, b)) {
      boolean reached = given.everyone() || person == a;
      String since = java.time.Instant.now().toString();
      String id = stored(person);
      String record = "/fhir/Observation/" + id;
      // r: read, vread, the history of a record; alone, in a batch, and in a transaction.
      int read = !given.has('r') ? 403 : reached ? 200 : 404;
      for (String path : List.of("", "/_history/1", "/_history")) {
        assertEquals(read, sender.get(record + path).status(), text + " GET " + path);
      }
      assertEquals(read, inBundle(sender, "batch", "GET", "Observation/" + id), text);
      assertEquals(read, inBundle(sender, "transaction", "GET", "Observation/" + id), text);
      // s: search, by GET and POST, and the history of the type, and of everything.
      int found = reached ? 1 : 0;
      Answer search = sender.get("/fhir/Observation?_id=" + id + "&_total=accurate");
      assertEquals(given.has('s') ? 200 : 403, search.status(), text);
      Answer form =
          sender.send(
              "POST",
              "/fhir/Observation/_search",
              "_id=" + id + "&_summary=count",
              "Content-Type",
              "application/x-www-form-urlencoded");
      Answer ofType = sender.get("/fhir/Observation/_history?_count=500&_since=" + since);
      assertEquals(given.has('s') ? 200 : 403, ofType.status(), text);
      if (given.has('s')) {
        assertEquals(found, search.total(), text);
        assertEquals(found, form.total(), text);
        assertEquals(reached, ofType.body().contains(id), text);
      }
      Answer ofAll = sender.get("/fhir/_history?_count=500&_since=" + since);
      boolean anySearch = text.endsWith("s") || text.endsWith("read") || text.endsWith("*");
      assertEquals(anySearch ? 200 : 403, ofAll.status(), text);
      assertEquals(given.has('s') && reached, ofAll.body().contains(id), text);
      // c
      int created = !given.has('c') ? 403 : reached ? 201 : 403;
      Observation fresh = pulse(person);
      assertEquals(
          created, sender.send("POST", "/fhir/Observation", PlanPerson.json(fresh)).status(), text);
      String taken = condition(id);
      int conditional = !given.has('c', 's') ? 403 : reached ? 200 : 403;
      assertEquals(
          conditional,
          sender
              .send("POST", "/fhir/Observation", PlanPerson.json(fresh), "If-None-Exist", taken)
              .status(),
          text);
      // u: update, patch, and an update that creates, for which one must reach the whole type.
      int updated = !given.has('u') ? 403 : reached ? 200 : 404;
      Observation known = pulse(person);
      known.setId(id);
      known.getIdentifierFirstRep().setValue(taken.substring(taken.indexOf('|') + 1));
      Answer update = sender.send("PUT", record, PlanPerson.json(known));
      assertEquals(updated, update.status(), text);
      assertEquals(given.has('r') && updated == 200, update.body().contains("8867-4"), text);
      String patch = "[{\"op\":\"replace\",\"path\":\"/status\",\"value\":\"amended\"}]";
      Answer patched =
          sender.send("PATCH", record, patch, "Content-Type", "application/json-patch+json");
      assertEquals(updated, patched.status(), text);
      assertEquals(given.has('r') && updated == 200, patched.body().contains("8867-4"), text);
      int matching = !given.has('u', 's') ? 403 : reached ? 200 : -1;
      if (matching > 0) {
        known.setId((String) null);
        Answer match = sender.send("PUT", "/fhir/Observation?" + taken, PlanPerson.json(known));
        assertEquals(matching, match.status(), text);
      }
      Observation own = pulse(person);
      own.setId(UUID.randomUUID().toString());
      int chosen = !given.has('u') ? 403 : given.everyone() ? 201 : 404;
      assertEquals(
          chosen,
          sender.send("PUT", "/fhir/Observation/" + own.getIdPart(), PlanPerson.json(own)).status(),
          text);
      // d, last: what is not reached stays.
      String other = stored(person);
      assertEquals(
          given.has('d', 's'),
          done(sender.send("DELETE", "/fhir/Observation?" + condition(other), null)),
          text);
      assertEquals(
          given.has('d', 's') && reached ? 410 : 200,
          all.get("/fhir/Observation/" + other).status(),
          text);
      assertEquals(given.has('d'), done(sender.send("DELETE", record, null)), text);
      int after = all.get(record).status();
      assertEquals(given.has('d') && reached ? 410 : 200, after, text);
    }
  }

  /** A deletion is carried out or refused; of what is not there it is carried out too. */
  private static boolean done(Answer deletion) {
    boolean done = deletion.status() == 200 || deletion.status() == 204;
    assertTrue(done || deletion.status() == 403, "" + deletion.status());
    return done;
  }

  private static int inBundle(Sender sender, String type, String method, String url) {
    Answer answer =
        sender.send(
            "POST",
            "/fhir",
            ("{\"resourceType\":\"Bundle\",\"type\":\"%s\",\"entry\":[{\"request\":{\"method\":\"%s\","
                    + "\"url\":\"%s\"}}]}")
                .formatted(type, method, url));
    if (answer.status() != 200) {
      return answer.status();
    }
    Bundle bundle = PlanPerson.CONTEXT.newJsonParser().parseResource(Bundle.class, answer.body());
    return Integer.parseInt(
        bundle.getEntryFirstRep().getResponse().getStatus().replaceAll("\\D.*", ""));
  }
}

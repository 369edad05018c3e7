package org.tidemark.http;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.test.common.QuarkusTestResourceLifecycleManager;
import io.quarkus.test.junit.QuarkusTest;
import io.quarkus.test.junit.QuarkusTestProfile;
import io.quarkus.test.junit.TestProfile;
import io.vertx.core.Vertx;
import io.vertx.core.http.ClientAuth;
import io.vertx.core.http.HttpServer;
import io.vertx.core.http.HttpServerOptions;
import io.vertx.core.net.PemKeyCertOptions;
import io.vertx.core.net.PemTrustOptions;
import jakarta.inject.Inject;
import java.io.IOException;
import java.io.UncheckedIOException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.List;
import java.util.Map;
import java.util.concurrent.CopyOnWriteArrayList;
import org.eclipse.microprofile.config.inject.ConfigProperty;
import org.hl7.fhir.r4.model.Subscription;
import org.hl7.fhir.r4.model.Subscription.SubscriptionStatus;
import org.junit.jupiter.api.AfterEach;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.extension.ExtendWith;
import org.tidemark.clinic.ActsForHome;
import org.tidemark.exchange.Notifier;

/**
 * A record system that demands a certificate is notified by ours; what it refuses is sent again.
 */
@ExtendWith(ActsForHome.class)
@QuarkusTest
@TestProfile(RecordSystemTlsTest.Certified.class)
class RecordSystemTlsTest {
  private static final String FOLDER = "test.certificates";

  /** Certificates of both sides, and of somebody else, that are made for the run. */
  public static final class Certified implements QuarkusTestProfile {
    @Override
    public List<TestResourceEntry> testResources() {
      return List.of(new TestResourceEntry(Made.class));
    }
  }

  /** Makes them and tells the service of its own. */
  public static final class Made implements QuarkusTestResourceLifecycleManager {
    @Override
    public Map<String, String> start() {
      try {
        Path folder = Files.createTempDirectory("certificates");
        TestCertificate ours = TestCertificate.make(folder, "ours");
        TestCertificate theirs = TestCertificate.make(folder, "theirs");
        TestCertificate.make(folder, "another");
        return Map.of(
            FOLDER,
            folder.toString(),
            "tidemark.outgoing.tls-hosts",
            "localhost",
            "quarkus.tls.outgoing.key-store.pem.0.cert",
            ours.certificate().toString(),
            "quarkus.tls.outgoing.key-store.pem.0.key",
            ours.key().toString(),
            "quarkus.tls.outgoing.trust-store.pem.certs",
            theirs.certificate().toString(),
            "tidemark.subscriptions.allowed-hosts",
            "localhost",
            "tidemark.subscriptions.pause",
            "1s");
      } catch (IOException e) {
        throw new UncheckedIOException(e);
      }
    }

    @Override
    public void stop() {}
  }

  @ConfigProperty(name = FOLDER)
  Path folder;

  @Inject Vertx vertx;
  @Inject Notifier notifier;

  private final List<String> taken = new CopyOnWriteArrayList<>();
  private HttpServer server;

  /** Starts the record system, which talks to the owner of one certificate only. */
  private int serve(int port, String trusted) {
    HttpServerOptions options =
        new HttpServerOptions()
            .setSsl(true)
            .setKeyCertOptions(
                new PemKeyCertOptions()
                    .setCertPath(file("theirs.crt"))
                    .setKeyPath(file("theirs.key")))
            .setTrustOptions(new PemTrustOptions().addCertPath(file(trusted + ".crt")))
            .setClientAuth(ClientAuth.REQUIRED);
    server =
        vertx
            .createHttpServer(options)
            .requestHandler(
                request ->
                    request.bodyHandler(
                        body -> {
                          taken.add(body.toString());
                          request.response().end();
                        }))
            .listen(port, "localhost")
            .toCompletionStage()
            .toCompletableFuture()
            .join();
    return server.actualPort();
  }

  private String file(String name) {
    return folder.resolve(name).toString();
  }

  @AfterEach
  void stop() {
    server.close().toCompletionStage().toCompletableFuture().join();
  }

  @Test
  void isNotifiedByOurCertificateAndWhatItRefusesIsSentAgain() throws Exception {
    int port = serve(0, "ours");
    PlanPerson person = PlanPerson.enrolled();
    Subscription wanted = new Subscription();
    wanted.setStatus(SubscriptionStatus.REQUESTED).setReason("A test");
    wanted.setCriteria("Observation?patient=" + person.subject);
    wanted
        .getChannel()
        .setType(Subscription.SubscriptionChannelType.RESTHOOK)
        .setEndpoint("https://localhost:" + port + "/hook")
        .setPayload("application/fhir+json");
    String id = PlanPerson.client().create().resource(wanted).execute().getId().getIdPart();
    notifier.send();
    assertEquals(SubscriptionStatus.ACTIVE, read(id).getStatus());

    stop();
    serve(port, "another");
    int before = taken.size();
    person.send(person.warning(1));
    notifier.send();
    assertEquals(before, taken.size(), "refused");

    stop();
    serve(port, "ours");
    for (int i = 0; i < 300 && taken.size() == before; i++) {
      Thread.sleep(100);
      notifier.send();
    }
    assertTrue(taken.size() > before, "sent again");
    assertEquals(SubscriptionStatus.ACTIVE, read(id).getStatus());
    PlanPerson.client().delete().resource(read(id)).execute();
  }

  private static Subscription read(String id) {
    return PlanPerson.client().read().resource(Subscription.class).withId(id).execute();
  }
}

package org.tidemark.exchange;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import com.sun.net.httpserver.HttpsConfigurator;
import com.sun.net.httpserver.HttpsParameters;
import com.sun.net.httpserver.HttpsServer;
import io.quarkus.runtime.configuration.ConfigurationException;
import io.quarkus.tls.BaseTlsConfiguration;
import io.quarkus.tls.CertificateUpdatedEvent;
import io.quarkus.tls.TlsConfiguration;
import io.quarkus.tls.TlsConfigurationRegistry;
import io.vertx.core.Vertx;
import io.vertx.core.net.KeyCertOptions;
import io.vertx.core.net.PemKeyCertOptions;
import io.vertx.core.net.PemTrustOptions;
import io.vertx.core.net.SSLOptions;
import io.vertx.core.net.TrustOptions;
import java.io.IOException;
import java.net.InetAddress;
import java.net.InetSocketAddress;
import java.net.URI;
import java.nio.file.Path;
import java.time.Duration;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.concurrent.atomic.AtomicInteger;
import javax.net.ssl.SSLContext;
import javax.net.ssl.SSLParameters;
import org.junit.jupiter.api.AfterEach;
import org.junit.jupiter.api.BeforeAll;
import org.junit.jupiter.api.BeforeEach;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.io.TempDir;
import org.tidemark.http.TestCertificate;

/** A record system that asks for a certificate gets ours, if it is named, and nobody else does. */
class OutgoingTlsTest {
  @TempDir static Path folder;
  private static TestCertificate theirs;
  private static TestCertificate ours;
  private static TestCertificate another;

  private final Vertx vertx = Vertx.vertx();
  private final AtomicInteger taken = new AtomicInteger();
  private HttpsServer server;

  @BeforeAll
  static void make() {
    theirs = TestCertificate.make(folder, "theirs");
    ours = TestCertificate.make(folder, "ours");
    another = TestCertificate.make(folder, "another");
  }

  /** A server that talks only to whom it knows. */
  @BeforeEach
  void serve() throws IOException {
    server = HttpsServer.create(new InetSocketAddress(InetAddress.getLoopbackAddress(), 0), 0);
    SSLContext context = theirs.serving(ours.certificate());
    server.setHttpsConfigurator(
        new HttpsConfigurator(context) {
          @Override
          public void configure(HttpsParameters parameters) {
            SSLParameters asked = context.getDefaultSSLParameters();
            asked.setNeedClientAuth(true);
            parameters.setSSLParameters(asked);
          }
        });
    server.createContext(
        "/",
        exchange -> {
          taken.incrementAndGet();
          exchange.sendResponseHeaders(200, -1);
          exchange.close();
        });
    server.start();
  }

  @AfterEach
  void stop() {
    server.stop(0);
    vertx.close().toCompletionStage().toCompletableFuture().join();
  }

  /** A configuration, as Quarkus reads it from its settings. */
  private record Configured(Optional<TestCertificate> shown, TestCertificate trusted) {
    TlsConfiguration tls() {
      return new BaseTlsConfiguration() {
        @Override
        public KeyCertOptions getKeyStoreOptions() {
          return shown
              .map(
                  one ->
                      new PemKeyCertOptions()
                          .setCertPath(one.certificate().toString())
                          .setKeyPath(one.key().toString()))
              .orElse(null);
        }

        @Override
        public TrustOptions getTrustStoreOptions() {
          return new PemTrustOptions().addCertPath(trusted.certificate().toString());
        }

        @Override
        public SSLOptions getSSLOptions() {
          return new SSLOptions()
              .setKeyCertOptions(getKeyStoreOptions())
              .setTrustOptions(getTrustStoreOptions());
        }
      };
    }
  }

  private static TlsConfigurationRegistry registry(TlsConfiguration tls) {
    return new TlsConfigurationRegistry() {
      @Override
      public Optional<TlsConfiguration> get(String name) {
        return Optional.ofNullable(name.equals("outgoing") ? tls : null);
      }

      @Override
      public Optional<TlsConfiguration> getDefault() {
        return Optional.empty();
      }

      @Override
      public void register(String name, TlsConfiguration other) {
        throw new UnsupportedOperationException();
      }
    };
  }

  private Outgoing outgoing(TestCertificate shown, String... hosts) {
    TlsConfiguration tls = new Configured(Optional.ofNullable(shown), theirs).tls();
    return new Outgoing(vertx, new OutgoingTls(registry(tls), Optional.of(List.of(hosts))));
  }

  private int ask(Outgoing by, String host) throws IOException {
    return by.send(
            new Outgoing.Sent(
                "POST",
                URI.create("https://" + host + ":" + server.getAddress().getPort() + "/hook"),
                List.of(InetAddress.getLoopbackAddress()),
                Map.of(),
                Optional.of("{}"),
                Duration.ofSeconds(20)))
        .status();
  }

  @Test
  void theCertificateIsShownToTheHostsThatAreNamed() throws IOException {
    assertEquals(200, ask(outgoing(ours, "record.example", "LOCALHOST"), "localhost"));
    assertEquals(1, taken.get());
  }

  @Test
  void withoutItOrWithAnotherNothingIsTaken() {
    assertThrows(IOException.class, () -> ask(outgoing(null, "localhost"), "localhost"));
    assertThrows(IOException.class, () -> ask(outgoing(another, "localhost"), "localhost"));
    assertEquals(0, taken.get());
  }

  @Test
  void aHostThatIsNotNamedIsNotShownItAndNotTrustedByIt() {
    assertThrows(IOException.class, () -> ask(outgoing(ours, "record.example"), "localhost"));
    assertEquals(0, taken.get());
  }

  /** The server's certificate is for localhost. */
  @Test
  void aHostUnderAnotherNameIsNotBelieved() {
    assertThrows(IOException.class, () -> ask(outgoing(ours, "record.example"), "record.example"));
    assertEquals(0, taken.get());
  }

  @Test
  void aCertificateThatIsRenewedIsTakenWithoutANewStart() throws Exception {
    Outgoing outgoing = outgoing(another, "localhost");
    assertThrows(IOException.class, () -> ask(outgoing, "localhost"));
    outgoing.renew(
        new CertificateUpdatedEvent("outgoing", new Configured(Optional.of(ours), theirs).tls()));
    assertEquals(200, ask(outgoing, "localhost"));
  }

  @Test
  void hostsWithoutAConfigurationOrWithOneThatTrustsAnybodyEndTheStart() {
    Optional<List<String>> hosts = Optional.of(List.of("localhost"));
    assertThrows(ConfigurationException.class, () -> new OutgoingTls(registry(null), hosts));
    TlsConfiguration anybody =
        new BaseTlsConfiguration() {
          @Override
          public boolean isTrustAll() {
            return true;
          }
        };
    assertThrows(ConfigurationException.class, () -> new OutgoingTls(registry(anybody), hosts));
    TlsConfiguration anyName =
        new BaseTlsConfiguration() {
          @Override
          public Optional<String> getHostnameVerificationAlgorithm() {
            return Optional.of("NONE");
          }
        };
    assertThrows(ConfigurationException.class, () -> new OutgoingTls(registry(anyName), hosts));
    assertTrue(
        new OutgoingTls(registry(null), Optional.of(List.of(" "))).find().isEmpty(), "none named");
  }
}

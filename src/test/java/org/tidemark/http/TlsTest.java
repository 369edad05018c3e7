package org.tidemark.http;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.test.common.QuarkusTestResourceLifecycleManager;
import io.quarkus.test.junit.QuarkusTest;
import io.quarkus.test.junit.QuarkusTestProfile;
import io.quarkus.test.junit.TestProfile;
import java.io.IOException;
import java.io.InputStream;
import java.net.ConnectException;
import java.net.Socket;
import java.net.URI;
import java.net.http.HttpClient;
import java.net.http.HttpRequest;
import java.net.http.HttpResponse;
import java.net.http.HttpResponse.BodyHandlers;
import java.nio.file.Files;
import java.nio.file.Path;
import java.security.KeyStore;
import java.util.List;
import java.util.Map;
import javax.net.ssl.SSLContext;
import javax.net.ssl.SSLParameters;
import javax.net.ssl.TrustManagerFactory;
import org.eclipse.microprofile.config.ConfigProvider;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.ValueSource;

/** The service with a certificate of its own, by the settings that the README names. */
@QuarkusTest
@TestProfile(TlsTest.Secured.class)
class TlsTest {
  private static final int PORT = 8444;
  private static final String STORE = "quarkus.tls.key-store.p12.path";
  private static final String PASSWORD = "quarkus.tls.key-store.p12.password";

  /** With a certificate that is made for the run. */
  public static final class Secured implements QuarkusTestProfile {
    @Override
    public List<TestResourceEntry> testResources() {
      return List.of(new TestResourceEntry(Certificate.class));
    }
  }

  /** Makes the certificate. */
  public static final class Certificate implements QuarkusTestResourceLifecycleManager {
    @Override
    public Map<String, String> start() {
      String password = java.util.UUID.randomUUID().toString();
      try {
        Path store = Files.createTempDirectory("tls").resolve("keys.p12");
        Process made =
            new ProcessBuilder(
                    Path.of(System.getProperty("java.home"), "bin", "keytool").toString(),
                    "-genkeypair",
                    "-alias",
                    "service",
                    "-keyalg",
                    "EC",
                    "-groupname",
                    "secp256r1",
                    "-dname",
                    "CN=localhost",
                    "-ext",
                    "SAN=DNS:localhost",
                    "-validity",
                    "2",
                    "-storetype",
                    "PKCS12",
                    "-keystore",
                    store.toString(),
                    "-storepass",
                    password)
                .redirectErrorStream(true)
                .start();
        assertEquals(0, made.waitFor(), new String(made.getInputStream().readAllBytes()));
        return Map.of(
            STORE,
            store.toString(),
            PASSWORD,
            password,
            "quarkus.http.insecure-requests",
            "disabled",
            "quarkus.http.test-ssl-port",
            String.valueOf(PORT),
            "tidemark.base-url",
            "https://localhost:" + PORT + "/fhir");
      } catch (IOException e) {
        throw new java.io.UncheckedIOException(e);
      } catch (InterruptedException e) {
        throw new IllegalStateException(e);
      }
    }

    @Override
    public void stop() {}
  }

  private static SSLContext trusting() throws Exception {
    KeyStore keys = KeyStore.getInstance("PKCS12");
    try (InputStream store = Files.newInputStream(Path.of(setting(STORE)))) {
      keys.load(store, setting(PASSWORD).toCharArray());
    }
    KeyStore trusted = KeyStore.getInstance("PKCS12");
    trusted.load(null, null);
    trusted.setCertificateEntry("service", keys.getCertificate("service"));
    TrustManagerFactory factory =
        TrustManagerFactory.getInstance(TrustManagerFactory.getDefaultAlgorithm());
    factory.init(trusted);
    SSLContext context = SSLContext.getInstance("TLS");
    context.init(null, factory.getTrustManagers(), null);
    return context;
  }

  private static String setting(String name) {
    return ConfigProvider.getConfig().getValue(name, String.class);
  }

  /** RFC 9325, section 3.1.1: 1.2 and 1.3. */
  @ParameterizedTest
  @ValueSource(strings = {"TLSv1.3", "TLSv1.2"})
  void itIsReachedByTls(String protocol) throws Exception {
    HttpClient client =
        HttpClient.newBuilder()
            .sslContext(trusting())
            .sslParameters(new SSLParameters(null, new String[] {protocol}))
            .build();
    HttpResponse<String> got =
        client.send(
            HttpRequest.newBuilder(URI.create("https://localhost:" + PORT + "/fhir/Patient"))
                .build(),
            BodyHandlers.ofString());
    assertEquals(200, got.statusCode(), got.body());
    assertEquals(protocol, got.sslSession().orElseThrow().getProtocol());
    assertTrue(got.body().contains("https://localhost:" + PORT + "/fhir/Patient"), got.body());
    assertTrue(got.headers().firstValue("Strict-Transport-Security").isPresent());
  }

  @Test
  void thereIsNoOpenPort() {
    assertThrows(ConnectException.class, () -> new Socket("localhost", 8081).close());
  }
}

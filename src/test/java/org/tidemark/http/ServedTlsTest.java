package org.tidemark.http;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.test.junit.QuarkusTest;
import io.quarkus.test.junit.TestProfile;
import java.io.ByteArrayOutputStream;
import java.io.DataOutputStream;
import java.io.IOException;
import java.net.ConnectException;
import java.net.Socket;
import java.nio.ByteBuffer;
import java.nio.charset.StandardCharsets;
import java.nio.file.Path;
import java.util.HexFormat;
import java.util.Map;
import javax.net.ssl.SSLHandshakeException;
import javax.net.ssl.SSLSocket;
import org.eclipse.microprofile.config.inject.ConfigProperty;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.junit.jupiter.params.provider.ValueSource;

/** With a certificate the service speaks TLS 1.3 and 1.2 with good ciphers, and nothing else. */
@QuarkusTest
@TestProfile(CertificateProfile.class)
class ServedTlsTest {
  private static final String HOST = "127.0.0.1";
  private static final int PORT = 8444;
  private static final int PLAIN_PORT = 8081;
  private static final int PATIENCE_MS = 20_000;

  /** A record of TLS that is an alert, and its description where the version is not spoken. */
  private static final int ALERT = 21;

  private static final int PROTOCOL_VERSION = 70;

  /** A record of TLS that goes on with the handshake. */
  private static final int HANDSHAKE = 22;

  private static final String ASKED =
      "GET /fhir/metadata HTTP/1.1\r\nHost: localhost:8444\r\nConnection: close\r\n\r\n";

  @ConfigProperty(name = ServedTls.CERTIFICATE)
  Path certificate;

  private SSLSocket socket() throws IOException {
    SSLSocket socket =
        (SSLSocket)
            TestCertificate.trusting(certificate).getSocketFactory().createSocket(HOST, PORT);
    socket.setSoTimeout(PATIENCE_MS);
    return socket;
  }

  @ParameterizedTest
  @ValueSource(strings = {"TLSv1.3", "TLSv1.2"})
  void speaks(String version) throws IOException {
    try (SSLSocket socket = socket()) {
      socket.setEnabledProtocols(new String[] {version});
      socket.getOutputStream().write(ASKED.getBytes(StandardCharsets.US_ASCII));
      String answer = new String(socket.getInputStream().readAllBytes(), StandardCharsets.UTF_8);
      assertEquals(version, socket.getSession().getProtocol());
      assertTrue(answer.startsWith("HTTP/1.1 200"), answer.substring(0, 100));
      assertTrue(answer.contains("Strict-Transport-Security: max-age="), "HSTS");
    }
  }

  /** The newest that both speak is taken. */
  @Test
  void prefersTheNewest() throws IOException {
    try (SSLSocket socket = socket()) {
      socket.startHandshake();
      assertEquals("TLSv1.3", socket.getSession().getProtocol());
    }
  }

  /**
   * Ciphers of TLS 1.2 whose records can be told apart by their padding. This client would speak
   * them, as it does with whoever takes them.
   */
  @ParameterizedTest
  @ValueSource(
      strings = {
        "TLS_ECDHE_ECDSA_WITH_AES_128_CBC_SHA",
        "TLS_ECDHE_ECDSA_WITH_AES_256_CBC_SHA",
        "TLS_ECDHE_ECDSA_WITH_AES_128_CBC_SHA256",
        "TLS_ECDHE_ECDSA_WITH_AES_256_CBC_SHA384"
      })
  void doesNotSpeakOldCiphers(String cipher) throws IOException {
    try (SSLSocket socket = socket()) {
      socket.setEnabledProtocols(new String[] {"TLSv1.2"});
      socket.setEnabledCipherSuites(new String[] {cipher});
      assertThrows(SSLHandshakeException.class, socket::startHandshake);
    }
    try (SSLSocket socket = socket()) {
      socket.setEnabledProtocols(new String[] {"TLSv1.2"});
      socket.setEnabledCipherSuites(
          new String[] {cipher, "TLS_ECDHE_ECDSA_WITH_AES_128_GCM_SHA256"});
      socket.startHandshake();
      assertEquals("TLS_ECDHE_ECDSA_WITH_AES_128_GCM_SHA256", socket.getSession().getCipherSuite());
    }
  }

  /** The JDK does not send these any more, so that the first message is written here. */
  @ParameterizedTest(name = "{0}")
  @CsvSource({"SSL 3.0, 0300", "TLS 1.0, 0301", "TLS 1.1, 0302"})
  void doesNotSpeakOldVersions(String name, String version) throws IOException {
    byte[] answer = hello(HexFormat.of().parseHex(version));
    assertEquals(ALERT, answer[0], name);
    assertEquals(PROTOCOL_VERSION, answer[6], name);
  }

  @Test
  void answersTheSameMessageOfAVersionThatItSpeaks() throws IOException {
    assertEquals(HANDSHAKE, hello(new byte[] {3, 3})[0]);
  }

  /** The first record that comes back for a ClientHello (RFC 5246, section 7.4.1.2). */
  private static byte[] hello(byte[] version) throws IOException {
    ByteArrayOutputStream hello = new ByteArrayOutputStream();
    DataOutputStream out = new DataOutputStream(hello);
    out.write(version);
    out.write(new byte[32]);
    out.writeByte(0);
    // TLS_ECDHE_ECDSA_WITH_AES_128_GCM_SHA256 and ..._CBC_SHA, no compression.
    out.write(HexFormat.of().parseHex("0004c02bc0090100"));
    // The curve secp256r1, plain points, ECDSA with SHA-256 and SHA-1.
    out.write(
        HexFormat.of()
            .parseHex("0018" + "000a00040002" + "0017" + "000b00020100" + "000d0006000404030203"));
    try (Socket socket = new Socket(HOST, PORT)) {
      socket.setSoTimeout(PATIENCE_MS);
      ByteBuffer sent = ByteBuffer.allocate(9 + hello.size());
      sent.put((byte) HANDSHAKE).put((byte) 3).put((byte) 1).putShort((short) (4 + hello.size()));
      sent.put((byte) 1).put((byte) 0).putShort((short) hello.size()).put(hello.toByteArray());
      socket.getOutputStream().write(sent.array());
      return socket.getInputStream().readNBytes(7);
    }
  }

  @Test
  void doesNotListenWithoutTls() {
    assertThrows(ConnectException.class, () -> new Socket(HOST, PLAIN_PORT).close());
  }

  @Test
  void doesNotAnswerWithoutTls() throws IOException {
    try (Socket socket = new Socket(HOST, PORT)) {
      socket.setSoTimeout(PATIENCE_MS);
      socket.getOutputStream().write(ASKED.getBytes(StandardCharsets.US_ASCII));
      byte[] answer = socket.getInputStream().readAllBytes();
      assertTrue(
          !new String(answer, StandardCharsets.ISO_8859_1).contains("HTTP/1.1 200"), "answered");
    }
  }

  @Test
  void aFileAloneIsRefusedAndNoneSetsNothing() {
    assertEquals(Map.of(), ServedTls.settings("", ""));
    assertThrows(IllegalArgumentException.class, () -> ServedTls.settings("c.pem", ""));
    assertThrows(IllegalArgumentException.class, () -> ServedTls.settings("", "k.pem"));
  }
}

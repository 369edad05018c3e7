package org.tidemark.http;

import io.smallrye.config.ConfigSourceContext;
import io.smallrye.config.ConfigSourceFactory;
import io.smallrye.config.ConfigValue;
import io.smallrye.config.PropertiesConfigSource;
import java.util.List;
import java.util.Map;
import java.util.OptionalInt;
import org.eclipse.microprofile.config.spi.ConfigSource;

/**
 * Makes two settings have the service end TLS itself: the files of its certificate and key. Then it
 * listens by TLS alone, in versions and with ciphers that are held to be good (RFC 9325): TLS 1.3
 * and 1.2, with keys that are agreed on anew for each connection and authenticated encryption. Each
 * of the settings that this makes can be set otherwise.
 */
public final class ServedTls implements ConfigSourceFactory {
  /** The file with the certificate and those between it and its root, in PEM. */
  static final String CERTIFICATE = "tidemark.tls.certificate";

  /** The file with the private key, in PEM (PKCS #8). */
  static final String KEY = "tidemark.tls.key";

  /** Above the service's own properties (250), below those of a clinic's file (260). */
  private static final int ORDINAL = 255;

  private static final List<String> CIPHERS =
      List.of(
          "TLS_AES_256_GCM_SHA384",
          "TLS_AES_128_GCM_SHA256",
          "TLS_CHACHA20_POLY1305_SHA256",
          "TLS_ECDHE_ECDSA_WITH_AES_256_GCM_SHA384",
          "TLS_ECDHE_RSA_WITH_AES_256_GCM_SHA384",
          "TLS_ECDHE_ECDSA_WITH_AES_128_GCM_SHA256",
          "TLS_ECDHE_RSA_WITH_AES_128_GCM_SHA256",
          "TLS_ECDHE_ECDSA_WITH_CHACHA20_POLY1305_SHA256",
          "TLS_ECDHE_RSA_WITH_CHACHA20_POLY1305_SHA256");

  /** For the service loader. */
  public ServedTls() {}

  @Override
  public Iterable<ConfigSource> getConfigSources(ConfigSourceContext context) {
    return List.of(
        new PropertiesConfigSource(
            settings(text(context, CERTIFICATE), text(context, KEY)), "TLS", ORDINAL));
  }

  private static String text(ConfigSourceContext context, String name) {
    ConfigValue value = context.getValue(name);
    return value == null || value.getValue() == null ? "" : value.getValue().strip();
  }

  @Override
  public OptionalInt getPriority() {
    return OptionalInt.of(ORDINAL);
  }

  /** What the two files set; nothing without them. */
  static Map<String, String> settings(String certificate, String key) {
    if (certificate.isEmpty() != key.isEmpty()) {
      throw new IllegalArgumentException(CERTIFICATE + " and " + KEY + " are set together");
    }
    if (certificate.isEmpty()) {
      return Map.of();
    }
    return Map.of(
        "quarkus.tls.key-store.pem.0.cert",
        certificate,
        "quarkus.tls.key-store.pem.0.key",
        key,
        "quarkus.tls.protocols",
        "TLSv1.3,TLSv1.2",
        "quarkus.tls.cipher-suites",
        String.join(",", CIPHERS),
        "quarkus.tls.reload-period",
        "1h",
        "quarkus.http.insecure-requests",
        "disabled");
  }
}

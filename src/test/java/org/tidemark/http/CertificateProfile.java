package org.tidemark.http;

import io.quarkus.test.common.QuarkusTestResourceLifecycleManager;
import io.quarkus.test.junit.QuarkusTestProfile;
import java.io.IOException;
import java.io.UncheckedIOException;
import java.nio.file.Files;
import java.util.List;
import java.util.Map;

/** The service with TLS, by a certificate that is made for the run. */
public final class CertificateProfile implements QuarkusTestProfile {
  @Override
  public List<TestResourceEntry> testResources() {
    return List.of(new TestResourceEntry(Made.class));
  }

  /** Makes it and tells the service of it. */
  public static final class Made implements QuarkusTestResourceLifecycleManager {
    @Override
    public Map<String, String> start() {
      try {
        TestCertificate made = TestCertificate.make(Files.createTempDirectory("tls"), "served");
        return Map.of(
            ServedTls.CERTIFICATE,
            made.certificate().toString(),
            ServedTls.KEY,
            made.key().toString(),
            "tidemark.base-url",
            "https://localhost:8444/fhir");
      } catch (IOException e) {
        throw new UncheckedIOException(e);
      }
    }

    @Override
    public void stop() {}
  }
}

package org.tidemark.exchange;

import jakarta.enterprise.context.ApplicationScoped;
import java.io.IOException;
import java.io.UncheckedIOException;
import java.nio.file.FileAlreadyExistsException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.nio.file.StandardOpenOption;
import java.nio.file.attribute.PosixFilePermissions;
import java.util.HashMap;
import java.util.Map;
import java.util.UUID;
import org.eclipse.microprofile.config.inject.ConfigProperty;
import org.jose4j.jwk.EcJwkGenerator;
import org.jose4j.jwk.EllipticCurveJsonWebKey;
import org.jose4j.jwk.JsonWebKey.OutputControlLevel;
import org.jose4j.jwk.PublicJsonWebKey;
import org.jose4j.keys.EllipticCurves;
import org.jose4j.lang.JoseException;
import org.tidemark.clinic.Clinic;
import org.tidemark.clinic.Clinics;

/**
 * The key that a clinic signs documents with: a private JSON Web Key (RFC 7517) in a file. Where
 * none is named for it, one for ECDSA on P-256 is made when it is first needed, in the folder of
 * the data, readable by its owner alone.
 */
@ApplicationScoped
class SigningKey {
  private static final String OWN = "handover-key";

  private final Clinics clinics;
  private final Path data;
  private final Map<String, PublicJsonWebKey> keys = new HashMap<>();

  SigningKey(Clinics clinics, @ConfigProperty(name = "tidemark.data") Path data) {
    this.clinics = clinics;
    this.data = data;
  }

  /** The key of the clinic that this thread works for. */
  synchronized PublicJsonWebKey get() {
    Clinic clinic = clinics.acting();
    return keys.computeIfAbsent(clinic.id(), unread -> read(file(clinic)));
  }

  private Path file(Clinic clinic) {
    return clinic
        .handoverKey()
        .orElseGet(
            () ->
                data.resolve(
                    clinic.equals(clinics.home())
                        ? OWN + ".json"
                        : OWN + "-" + clinic.id() + ".json"));
  }

  private static PublicJsonWebKey read(Path file) {
    try {
      if (!Files.exists(file)) {
        make(file);
      }
      PublicJsonWebKey read = PublicJsonWebKey.Factory.newPublicJwk(Files.readString(file));
      if (read.getPrivateKey() == null || read.getKeyId() == null) {
        throw new IllegalStateException(file + " is no private JSON Web Key with a kid");
      }
      return read;
    } catch (IOException e) {
      throw new UncheckedIOException(e);
    } catch (JoseException e) {
      throw new IllegalStateException(file + " is no JSON Web Key", e);
    }
  }

  private static void make(Path file) throws IOException, JoseException {
    EllipticCurveJsonWebKey made = EcJwkGenerator.generateJwk(EllipticCurves.P256);
    made.setKeyId(UUID.randomUUID().toString());
    made.setUse("sig");
    made.setAlgorithm("ES256");
    Files.createDirectories(file.toAbsolutePath().getParent());
    Path whole =
        Files.createTempFile(
            file.toAbsolutePath().getParent(),
            OWN,
            ".new",
            PosixFilePermissions.asFileAttribute(PosixFilePermissions.fromString("rw-------")));
    Files.writeString(
        whole, made.toJson(OutputControlLevel.INCLUDE_PRIVATE), StandardOpenOption.DSYNC);
    try {
      Files.createLink(file, whole);
    } catch (FileAlreadyExistsException another) {
      // Another instance on the same folder was first.
    } finally {
      Files.delete(whole);
    }
  }
}

package org.tidemark.exchange;

import jakarta.enterprise.context.ApplicationScoped;
import java.io.IOException;
import java.io.UncheckedIOException;
import java.nio.file.FileAlreadyExistsException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.nio.file.StandardOpenOption;
import java.nio.file.attribute.PosixFilePermissions;
import java.util.Optional;
import java.util.UUID;
import org.eclipse.microprofile.config.inject.ConfigProperty;
import org.jose4j.jwk.EcJwkGenerator;
import org.jose4j.jwk.EllipticCurveJsonWebKey;
import org.jose4j.jwk.JsonWebKey.OutputControlLevel;
import org.jose4j.jwk.PublicJsonWebKey;
import org.jose4j.keys.EllipticCurves;
import org.jose4j.lang.JoseException;

/**
 * The key that the clinic signs documents with: a private JSON Web Key (RFC 7517) in a file. Where
 * the clinic names none, one for ECDSA on P-256 is made when it is first needed, in the folder of
 * the data, readable by its owner alone.
 */
@ApplicationScoped
class SigningKey {
  private static final String OWN = "handover-key.json";

  private final Path file;
  private PublicJsonWebKey key;

  SigningKey(
      @ConfigProperty(name = "tidemark.handover.key") Optional<Path> file,
      @ConfigProperty(name = "tidemark.data") Path data) {
    this.file = file.orElse(data.resolve(OWN));
  }

  synchronized PublicJsonWebKey get() {
    if (key == null) {
      key = read();
    }
    return key;
  }

  private PublicJsonWebKey read() {
    try {
      if (!Files.exists(file)) {
        make();
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

  private void make() throws IOException, JoseException {
    EllipticCurveJsonWebKey made = EcJwkGenerator.generateJwk(EllipticCurves.P256);
    made.setKeyId(UUID.randomUUID().toString());
    made.setUse("sig");
    made.setAlgorithm("ES256");
    Files.createDirectories(file.toAbsolutePath().getParent());
    Path whole =
        Files.createTempFile(
            file.toAbsolutePath().getParent(),
            "handover-key",
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

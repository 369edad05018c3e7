package org.tidemark.http;

import java.io.IOException;
import java.io.InputStream;
import java.nio.file.Files;
import java.nio.file.Path;
import java.security.GeneralSecurityException;
import java.security.KeyStore;
import java.security.cert.CertificateFactory;
import java.util.Base64;
import java.util.List;
import java.util.UUID;
import javax.net.ssl.KeyManager;
import javax.net.ssl.KeyManagerFactory;
import javax.net.ssl.SSLContext;
import javax.net.ssl.TrustManagerFactory;

/**
 * A certificate for this machine that is made now, by the JDK's keytool, and signed by itself.
 *
 * @param certificate its file, in PEM
 * @param key the file of its private key, in PEM
 */
public record TestCertificate(Path certificate, Path key, KeyStore store, char[] password) {
  private static final String ALIAS = "one";

  /** Makes one in a folder. */
  public static TestCertificate make(Path folder, String name) {
    try {
      Path file = folder.resolve(name + ".p12");
      String password = UUID.randomUUID().toString();
      keytool(file, name, password);
      KeyStore store = KeyStore.getInstance(file.toFile(), password.toCharArray());
      return new TestCertificate(
          pem(
              folder.resolve(name + ".crt"),
              "CERTIFICATE",
              store.getCertificate(ALIAS).getEncoded()),
          pem(
              folder.resolve(name + ".key"),
              "PRIVATE KEY",
              store.getKey(ALIAS, password.toCharArray()).getEncoded()),
          store,
          password.toCharArray());
    } catch (IOException | GeneralSecurityException e) {
      throw new IllegalStateException(e);
    }
  }

  private static void keytool(Path file, String name, String password) throws IOException {
    List<String> command =
        List.of(
            Path.of(System.getProperty("java.home"), "bin", "keytool").toString(),
            "-genkeypair",
            "-alias",
            ALIAS,
            "-keyalg",
            "EC",
            "-groupname",
            "secp256r1",
            "-dname",
            "CN=" + name,
            "-ext",
            "san=dns:localhost,ip:127.0.0.1",
            "-storetype",
            "PKCS12",
            "-keystore",
            file.toString(),
            "-storepass",
            password);
    Path log = file.resolveSibling(name + ".log");
    Process process =
        new ProcessBuilder(command).redirectErrorStream(true).redirectOutput(log.toFile()).start();
    try {
      if (process.waitFor() != 0) {
        throw new IOException(Files.readString(log));
      }
    } catch (InterruptedException e) {
      Thread.currentThread().interrupt();
      throw new IOException(e);
    }
  }

  private static Path pem(Path file, String what, byte[] content) throws IOException {
    String text = Base64.getMimeEncoder(64, new byte[] {'\n'}).encodeToString(content);
    return Files.writeString(
        file, "-----BEGIN " + what + "-----\n" + text + "\n-----END " + what + "-----\n");
  }

  /** For a server that shows it and asks clients for one of those that are trusted. */
  public SSLContext serving(Path... trusted) {
    return context(managers(), trusted);
  }

  /** For a client that trusts the certificates of some files and shows none. */
  public static SSLContext trusting(Path... trusted) {
    return context(null, trusted);
  }

  private KeyManager[] managers() {
    try {
      KeyManagerFactory keys =
          KeyManagerFactory.getInstance(KeyManagerFactory.getDefaultAlgorithm());
      keys.init(store, password);
      return keys.getKeyManagers();
    } catch (GeneralSecurityException e) {
      throw new IllegalStateException(e);
    }
  }

  private static SSLContext context(KeyManager[] keys, Path... trusted) {
    try {
      KeyStore known = KeyStore.getInstance("PKCS12");
      known.load(null, null);
      for (int i = 0; i < trusted.length; i++) {
        try (InputStream file = Files.newInputStream(trusted[i])) {
          known.setCertificateEntry(
              "trusted-" + i, CertificateFactory.getInstance("X.509").generateCertificate(file));
        }
      }
      TrustManagerFactory trust =
          TrustManagerFactory.getInstance(TrustManagerFactory.getDefaultAlgorithm());
      trust.init(known);
      SSLContext context = SSLContext.getInstance("TLS");
      context.init(keys, trust.getTrustManagers(), null);
      return context;
    } catch (IOException | GeneralSecurityException e) {
      throw new IllegalStateException(e);
    }
  }
}

package org.tidemark.http;

import static org.junit.jupiter.api.Assertions.assertTrue;

import java.io.IOException;
import java.net.Socket;
import java.nio.file.Files;
import java.nio.file.Path;
import java.nio.file.attribute.PosixFilePermissions;
import java.util.ArrayList;
import java.util.List;
import java.util.concurrent.TimeUnit;
import org.junit.jupiter.api.Assumptions;

/**
 * An nginx of this machine with {@code deploy/nginx.conf}, in which only the addresses, the place
 * of its files and TLS are others. Where the tests run as root it runs as nobody.
 */
final class Nginx implements AutoCloseable {
  private static final Path PROGRAM = Path.of("/usr/sbin/nginx");
  private static final Path CONFIGURATION = Path.of("deploy/nginx.conf");
  private static final String NOBODY = "65534";

  private final Process process;
  private final Path folder;

  private Nginx(Process process, Path folder) {
    this.process = process;
    this.folder = folder;
  }

  /**
   * Starts it; without it on the machine the test is not run.
   *
   * @param port where it listens
   * @param first the port of the one instance
   * @param second the port of the other
   */
  static Nginx start(int port, int first, int second) throws IOException, InterruptedException {
    Assumptions.assumeTrue(Files.isExecutable(PROGRAM), "Not run: there is no nginx.");
    Path folder = Files.createTempDirectory("nginx");
    Files.setPosixFilePermissions(folder, PosixFilePermissions.fromString("rwxrwxrwx"));
    String configuration = Files.readString(CONFIGURATION);
    for (String[] change :
        new String[][] {
          {"listen 8443 ssl;", "listen 127.0.0.1:" + port + ";"},
          {"ssl_certificate /etc/nginx/tls/tls.crt;", ""},
          {"ssl_certificate_key /etc/nginx/tls/tls.key;", ""},
          {"server tidemark-1:8080 ", "server 127.0.0.1:" + first + " "},
          {"server tidemark-2:8080 ", "server 127.0.0.1:" + second + " "},
          {"/tmp/nginx", folder + "/nginx"},
          {"/dev/stdout", folder + "/access.log"}
        }) {
      assertTrue(configuration.contains(change[0]), change[0]);
      configuration = configuration.replace(change[0], change[1]);
    }
    Path file = folder.resolve("nginx.conf");
    Files.writeString(file, configuration);
    List<String> command = new ArrayList<>();
    if (System.getProperty("user.name").equals("root")) {
      command.addAll(
          List.of("setpriv", "--reuid=" + NOBODY, "--regid=" + NOBODY, "--clear-groups"));
    }
    command.addAll(
        List.of(PROGRAM.toString(), "-c", file.toString(), "-g", "daemon off;", "-e", "stderr"));
    Nginx started =
        new Nginx(
            new ProcessBuilder(command)
                .redirectErrorStream(true)
                .redirectOutput(folder.resolve("error.log").toFile())
                .start(),
            folder);
    for (int tenth = 0; tenth < 100; tenth++) {
      try {
        new Socket("127.0.0.1", port).close();
        return started;
      } catch (IOException notYet) {
        assertTrue(started.process.isAlive(), Files.readString(folder.resolve("error.log")));
        Thread.sleep(100);
      }
    }
    throw new AssertionError("nginx does not listen");
  }

  /** What it has logged about requests. */
  List<String> log() throws IOException {
    return Files.readAllLines(folder.resolve("access.log"));
  }

  /** Waits until so many requests are in its log, which follows the answer. */
  List<String> awaitLog(int lines) throws IOException, InterruptedException {
    for (int tenth = 0; tenth < 50 && log().size() < lines; tenth++) {
      Thread.sleep(100);
    }
    return log();
  }

  @Override
  public void close() {
    process.destroy();
    process.onExit().completeOnTimeout(process, 10, TimeUnit.SECONDS).join();
    process.destroyForcibly();
  }
}

package org.tidemark.http;

import static io.restassured.RestAssured.given;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.io.IOException;
import java.net.ConnectException;
import java.net.ServerSocket;
import java.nio.charset.StandardCharsets;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.List;
import java.util.Map;
import java.util.concurrent.ThreadLocalRandom;
import java.util.concurrent.TimeUnit;

/** The packaged service, as a process of its own. */
public final class PackagedService {
  private static final Path JAR = Path.of("target/tidemark/tidemark.jar");
  private static final int FIRST_PORT = 12_000;
  private static final int LAST_PORT = 30_000;
  private static final int SECONDS_TO_START = 120;
  private static final int SECONDS_TO_STOP = 60;

  private final Process process;
  private final int port;
  private final Path log;

  private PackagedService(Process process, int port, Path log) {
    this.process = process;
    this.port = port;
    this.log = log;
  }

  /**
   * A port that nobody uses, and none of those that systems give to clients: it may be a while
   * until it is listened at.
   */
  public static int freePort() {
    while (true) {
      int port = ThreadLocalRandom.current().nextInt(FIRST_PORT, LAST_PORT);
      try (ServerSocket free = new ServerSocket(port)) {
        return free.getLocalPort();
      } catch (IOException used) {
        continue;
      }
    }
  }

  /** Begins to start it on a port, with settings as environment variables. */
  public static PackagedService start(int port, Map<String, String> settings) throws IOException {
    return start(port, settings, List.of("-jar", JAR.toString()));
  }

  /** Begins to start it within a class of the tests, which goes on to {@code Tidemark.main}. */
  static PackagedService startIn(Class<?> main, int port, Map<String, String> settings)
      throws IOException {
    return start(
        port, settings, List.of("-cp", JAR + ":" + Path.of("target/test-classes"), main.getName()));
  }

  private static PackagedService start(int port, Map<String, String> settings, List<String> what)
      throws IOException {
    Path log = Path.of("target/service-" + port + ".log");
    ProcessBuilder service = java(what);
    service.environment().put("TIDEMARK_BASE_URL", PlanPerson.BASE);
    service.environment().put("QUARKUS_HTTP_PORT", Integer.toString(port));
    service.environment().putAll(settings);
    return new PackagedService(
        service
            .redirectErrorStream(true)
            .redirectOutput(ProcessBuilder.Redirect.appendTo(log.toFile()))
            .start(),
        port,
        log);
  }

  /** What a command has said, and the code that it ended with. */
  record Said(int code, String text) {}

  /** Runs a command of it to its end. */
  static Said command(Map<String, String> settings, String... args)
      throws IOException, InterruptedException {
    List<String> what = new ArrayList<>(List.of("-jar", JAR.toString()));
    what.addAll(List.of(args));
    ProcessBuilder command = java(what).redirectErrorStream(true);
    command.environment().putAll(settings);
    Process process = command.start();
    String text = new String(process.getInputStream().readAllBytes(), StandardCharsets.UTF_8);
    return new Said(process.waitFor(), text);
  }

  private static ProcessBuilder java(List<String> what) {
    assertTrue(Files.exists(JAR), "mvn package comes first");
    List<String> command =
        new ArrayList<>(
            List.of(
                Path.of(System.getProperty("java.home"), "bin", "java").toString(),
                "-XX:SharedArchiveFile=target/tidemark/tidemark.jsa",
                "-Xlog:cds=off",
                "-Xlog:cds+dynamic=off",
                "-Xmx384m",
                "-XX:+UseSerialGC",
                "-XX:TieredStopAtLevel=1"));
    command.addAll(what);
    return new ProcessBuilder(command);
  }

  int port() {
    return port;
  }

  boolean isAlive() {
    return process.isAlive();
  }

  /** What it and those before it on this port have logged. */
  String log() throws IOException {
    return Files.readString(log);
  }

  public PackagedService awaitReady() throws InterruptedException {
    for (int tenth = 0; tenth < SECONDS_TO_START * 10; tenth++) {
      assertTrue(process.isAlive(), "the service ended by itself: " + log);
      if (status("/q/health/ready") == 200) {
        return this;
      }
      Thread.sleep(100);
    }
    throw new AssertionError("no service on port " + port);
  }

  /** The status of an answer; 0 when there is none. */
  int status(String path) {
    try {
      return given().port(port).get(path).statusCode();
    } catch (Exception none) {
      if (none instanceof ConnectException || none instanceof java.net.SocketException) {
        return 0;
      }
      throw none;
    }
  }

  /** Waits until it has ended; the code that it ended with. */
  int awaitEnd() throws InterruptedException {
    assertTrue(process.waitFor(SECONDS_TO_START, TimeUnit.SECONDS), "it goes on: " + log);
    return process.exitValue();
  }

  /** Tells it to stop (SIGTERM). */
  void tellToStop() {
    process.destroy();
  }

  /** Kills it (SIGKILL), as a loss of power would. */
  void kill() throws InterruptedException {
    process.destroyForcibly();
    awaitEnd();
  }

  /** Stops it, in whatever state it is. */
  public void stop() throws InterruptedException {
    process.destroy();
    if (!process.waitFor(SECONDS_TO_STOP, TimeUnit.SECONDS)) {
      kill();
    }
  }
}

package org.tidemark.demo;

import io.quarkus.runtime.QuarkusApplication;
import java.io.File;
import java.io.IOException;
import java.io.UncheckedIOException;
import java.net.ServerSocket;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.List;
import org.eclipse.microprofile.config.ConfigProvider;
import org.hl7.fhir.r4.model.CarePlan;

/**
 * Starts the service on a free port and an empty folder of its own, enrols one of the invented
 * people, sends the first reports, reads the plan, and stops. The build runs it to record which
 * classes a start needs.
 */
public final class Trial implements QuarkusApplication {
  private static final int REPORTS = 20;
  private static final String PERSON = Diaries.PEOPLE.get(0);

  /** Chooses port and folder. Must run before the configuration is read. */
  public static void prepare() {
    try (ServerSocket free = new ServerSocket(0)) {
      Path folder = Files.createTempDirectory("tidemark-trial");
      Runtime.getRuntime().addShutdownHook(new Thread(() -> remove(folder)));
      System.setProperty("tidemark.data", folder.toString());
      System.setProperty("tidemark.database.url", "");
      System.setProperty("tidemark.access", "open");
      System.setProperty("tidemark.sandbox", "false");
      System.setProperty("quarkus.http.host", "127.0.0.1");
      System.setProperty("quarkus.shutdown.delay", "0s");
      System.setProperty("quarkus.http.port", Integer.toString(free.getLocalPort()));
    } catch (IOException e) {
      throw new UncheckedIOException("no port or folder for a trial", e);
    }
  }

  /** The database may still be closing; what is locked then stays in the folder for such files. */
  private static void remove(Path folder) {
    File[] files = folder.toFile().listFiles();
    for (File file : files == null ? new File[0] : files) {
      file.delete();
    }
    folder.toFile().delete();
  }

  @Override
  public int run(String... args) {
    String base = ConfigProvider.getConfig().getValue("tidemark.base-url", String.class);
    DemoClient client = new DemoClient(base);
    client.transact(Diaries.clinic());
    client.transact(Diaries.enrolment(PERSON));
    Diaries.diary(PERSON).stream().limit(REPORTS).forEach(client::send);
    List<CarePlan> plans = client.list(CarePlan.class, "patient=" + PERSON + "&");
    return plans.isEmpty() ? 1 : 0;
  }
}

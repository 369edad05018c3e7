package org.tidemark.operation;

import java.io.IOException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.nio.file.StandardCopyOption;
import java.util.ArrayList;
import java.util.List;
import java.util.UUID;
import java.util.regex.Matcher;
import java.util.regex.Pattern;
import java.util.stream.Stream;

/**
 * Something that a command asks of the running service, by files in the folder of the embedded
 * database: who may write there may have the whole database anyway, so that nothing else must be
 * kept from anybody. No other process can open the database meanwhile.
 *
 * <p>The command puts {@code errand-ID.KIND} there. The service makes it {@code errand-ID.begun},
 * and at the end {@code errand-ID.done} with what is to be told; a copy of the database lies beside
 * it as {@code errand-ID.zip}.
 *
 * @param folder the folder
 * @param id the id of the errand
 */
record Errand(Path folder, String id) {
  private static final Pattern ASKED = Pattern.compile("errand-([0-9a-f\\-]{36})\\.(\\w+)");

  /** What can be asked. */
  enum Kind {
    BACKUP,
    CHECK;

    String ending() {
      return name().toLowerCase(java.util.Locale.ROOT);
    }
  }

  /** An errand that waits for the service. */
  record Asked(Errand errand, Kind kind) {}

  /** What the service has to tell: 0 or 1 as the code that a command ends with, and a text. */
  record Told(int code, String text) {}

  // ---- the command ----

  /** Asks the service that uses a folder. */
  static Errand ask(Path folder, Kind kind) throws IOException {
    Errand errand = new Errand(folder, UUID.randomUUID().toString());
    Files.createFile(errand.path(kind.ending()));
    return errand;
  }

  /** Whether the service has not begun it. */
  boolean isWaiting(Kind kind) {
    return Files.exists(path(kind.ending()));
  }

  boolean isDone() {
    return Files.exists(path("done"));
  }

  Told told() throws IOException {
    String all = Files.readString(path("done"));
    return new Told(all.charAt(0) - '0', all.substring(2));
  }

  /** Takes every file of it away. */
  void forget() throws IOException {
    List<String> endings = new ArrayList<>(List.of("begun", "done", "done.new", "zip"));
    for (Kind kind : Kind.values()) {
      endings.add(kind.ending());
    }
    for (String ending : endings) {
      Files.deleteIfExists(path(ending));
    }
  }

  // ---- the service ----

  /** The errands that wait in a folder. */
  static List<Asked> waiting(Path folder) throws IOException {
    List<Asked> waiting = new ArrayList<>();
    for (Path file : files(folder)) {
      Matcher name = ASKED.matcher(file.getFileName().toString());
      for (Kind kind : Kind.values()) {
        if (name.matches() && name.group(2).equals(kind.ending())) {
          waiting.add(new Asked(new Errand(folder, name.group(1)), kind));
        }
      }
    }
    return waiting;
  }

  /** Takes away what is left of errands of a process that is there no more. */
  static void forgetAll(Path folder) throws IOException {
    for (Path file : files(folder)) {
      Matcher name = ASKED.matcher(file.getFileName().toString());
      if (name.matches() && !name.group(2).equals("backup") && !name.group(2).equals("check")) {
        Files.delete(file);
      }
    }
  }

  private static List<Path> files(Path folder) throws IOException {
    if (!Files.isDirectory(folder)) {
      return List.of();
    }
    try (Stream<Path> all = Files.list(folder)) {
      return all.toList();
    }
  }

  void begin(Kind kind) throws IOException {
    Files.move(path(kind.ending()), path("begun"), StandardCopyOption.ATOMIC_MOVE);
  }

  /** Where a copy of the database is put. */
  Path copy() {
    return path("zip");
  }

  void end(Told told) throws IOException {
    Path whole = path("done.new");
    Files.writeString(whole, told.code() + " " + told.text());
    Files.move(whole, path("done"), StandardCopyOption.ATOMIC_MOVE);
    Files.deleteIfExists(path("begun"));
  }

  private Path path(String ending) {
    return folder.resolve("errand-" + id + "." + ending);
  }
}

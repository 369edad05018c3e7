package org.tidemark.load;

import java.io.BufferedReader;
import java.io.Closeable;
import java.io.IOException;
import java.io.RandomAccessFile;
import java.nio.ByteBuffer;
import java.nio.channels.FileChannel;
import java.nio.charset.StandardCharsets;
import java.nio.file.Files;
import java.nio.file.Path;
import java.nio.file.StandardOpenOption;
import java.util.ArrayList;
import java.util.BitSet;
import java.util.HashSet;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.Set;
import java.util.zip.CRC32;

/**
 * What is known about each line, on the disk: {@code begun NUMBER TIME LINES} is written before
 * lines are sent, {@code done NUMBER} when the service has acknowledged or refused them. Of lines
 * that were begun and not done it is not known whether they are stored.
 *
 * <p>In memory it keeps one bit a line.
 */
final class Journal implements Closeable {
  private static final int FINGERPRINT_BYTES = 1 << 16;

  private final FileChannel file;
  private final List<BitSet> done = new ArrayList<>();
  private final List<Map<Long, Long>> open = new ArrayList<>();
  private long next;

  private Journal(FileChannel file, int files) {
    this.file = file;
    for (int i = 0; i < files; i++) {
      done.add(new BitSet());
      open.add(new LinkedHashMap<>());
    }
  }

  /**
   * Opens that of some files, or begins one.
   *
   * @throws IOException also when it is that of other files
   */
  static Journal open(Path path, List<Path> inputs) throws IOException {
    List<String> heads = new ArrayList<>();
    for (Path input : inputs) {
      heads.add("file " + fingerprint(input));
    }
    cutUnfinished(path);
    Journal journal =
        new Journal(
            FileChannel.open(
                path,
                StandardOpenOption.CREATE,
                StandardOpenOption.WRITE,
                StandardOpenOption.APPEND),
            inputs.size());
    if (journal.file.tryLock() == null) {
      journal.close();
      throw new IOException("another process uses the journal " + path);
    }
    if (journal.file.size() == 0) {
      journal.append(String.join("\n", heads));
    } else {
      try (BufferedReader lines = Files.newBufferedReader(path)) {
        for (String head : heads) {
          if (!head.equals(lines.readLine())) {
            journal.close();
            throw new IOException(
                "the journal " + path + " is that of other files, or they have changed since");
          }
        }
        journal.readRest(lines);
      }
    }
    return journal;
  }

  /** A file is known by its length and its beginning. */
  private static String fingerprint(Path input) throws IOException {
    CRC32 sum = new CRC32();
    try (var in = Files.newInputStream(input)) {
      sum.update(in.readNBytes(FINGERPRINT_BYTES));
    }
    return "%d %08x".formatted(Files.size(input), sum.getValue());
  }

  /** A line that a killed process has not finished says nothing. */
  private static void cutUnfinished(Path path) throws IOException {
    if (!Files.exists(path)) {
      return;
    }
    try (RandomAccessFile all = new RandomAccessFile(path.toFile(), "rw")) {
      long end = all.length();
      for (; end > 0; end--) {
        all.seek(end - 1);
        if (all.read() == '\n') {
          break;
        }
      }
      all.setLength(end);
    }
  }

  private void readRest(BufferedReader lines) throws IOException {
    Map<Long, String[]> begun = new LinkedHashMap<>();
    for (String line = lines.readLine(); line != null; line = lines.readLine()) {
      String[] words = line.split(" ");
      switch (words[0]) {
        case "begun" -> {
          begun.put(Long.parseLong(words[1]), words);
          next = Math.max(next, Long.parseLong(words[1]) + 1);
        }
        case "done" ->
            places(begun.remove(Long.parseLong(words[1])))
                .forEach(place -> done.get(place.file()).set((int) place.line()));
        default -> throw new IOException("the journal has a line that is none of it: " + line);
      }
    }
    for (String[] words : begun.values()) {
      places(words)
          .forEach(
              place -> open.get(place.file()).putIfAbsent(place.line(), Long.parseLong(words[2])));
    }
  }

  private static List<Unit.Place> places(String... words) {
    List<Unit.Place> places = new ArrayList<>();
    for (int i = 3; i < words.length; i++) {
      String[] parts = words[i].split("[:-]");
      for (long line = Long.parseLong(parts[1]); line <= Long.parseLong(parts[2]); line++) {
        places.add(new Unit.Place(Integer.parseInt(parts[0]), line));
      }
    }
    return places;
  }

  /** Whether a line needs nothing more. */
  boolean isDone(Unit.Place place) {
    return done.get(place.file()).get((int) place.line());
  }

  /**
   * Since when it is not known whether a line is stored that an earlier process has begun; 0 when
   * none has.
   */
  long unknownSince(Unit unit) {
    return open.get(unit.place().file()).getOrDefault(unit.place().line(), 0L);
  }

  /** Notes that lines are sent next, and gives that a number. */
  synchronized long begin(long serverTime, List<Unit> units) throws IOException {
    long number = next++;
    append("begun %d %d%s".formatted(number, serverTime, ranges(units)));
    return number;
  }

  /** Notes that lines need nothing more. */
  synchronized void end(long number) throws IOException {
    append("done " + number);
  }

  private static String ranges(List<Unit> units) {
    StringBuilder ranges = new StringBuilder();
    Set<Unit.Place> inside = new HashSet<>();
    units.forEach(unit -> inside.add(unit.place()));
    for (Unit unit : units) {
      Unit.Place from = unit.place();
      if (!inside.contains(new Unit.Place(from.file(), from.line() - 1))) {
        long to = from.line();
        while (inside.contains(new Unit.Place(from.file(), to + 1))) {
          to++;
        }
        ranges.append(" %d:%d-%d".formatted(from.file(), from.line(), to));
      }
    }
    return ranges.toString();
  }

  private void append(String text) throws IOException {
    ByteBuffer bytes = ByteBuffer.wrap((text + "\n").getBytes(StandardCharsets.UTF_8));
    while (bytes.hasRemaining()) {
      file.write(bytes);
    }
    file.force(false);
  }

  @Override
  public void close() throws IOException {
    file.close();
  }
}

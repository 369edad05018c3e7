package org.tidemark.load;

import java.io.BufferedReader;
import java.io.IOException;
import java.nio.charset.StandardCharsets;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.HashSet;
import java.util.List;
import java.util.Set;
import java.util.concurrent.ExecutorService;
import java.util.concurrent.Executors;
import java.util.concurrent.Semaphore;
import java.util.concurrent.atomic.AtomicReference;
import java.util.function.Supplier;

/**
 * Reads files line by line and gives each line to the connection of its person, where lines go one
 * after the other. A line about nobody, or about several people, waits for all that stand before
 * it, and all that stand after it wait for it.
 *
 * <p>What is in memory is bounded, whatever the length of the files.
 */
final class Loader implements AutoCloseable {
  private static final int AHEAD = 2;
  private static final long MOST_BYTES = 8 << 20;

  private final Journal journal;
  private final Refusals refusals;
  private final Progress progress;
  private final int most;
  private final List<Lane> lanes = new ArrayList<>();
  private final AtomicReference<Exception> failure = new AtomicReference<>();
  private boolean alone;

  Loader(
      Supplier<Delivery> deliveries,
      Journal journal,
      Refusals refusals,
      Progress progress,
      int connections,
      int most) {
    this.journal = journal;
    this.refusals = refusals;
    this.progress = progress;
    this.most = most;
    for (int i = 0; i < connections; i++) {
      lanes.add(new Lane(deliveries.get()));
    }
  }

  /** The people of one connection. */
  private final class Lane {
    private final Delivery delivery;
    private final ExecutorService worker = Executors.newSingleThreadExecutor();
    private final Semaphore room = new Semaphore(AHEAD);
    private final Set<String> writes = new HashSet<>();
    private List<Unit> waiting = new ArrayList<>();
    private long bytes;
    private int entries;

    Lane(Delivery delivery) {
      this.delivery = delivery;
    }

    void add(Unit unit) {
      boolean again = unit.writes().stream().anyMatch(writes::contains);
      boolean full = entries + unit.entries().size() > most || bytes + unit.bytes() > MOST_BYTES;
      if (again || full) {
        flush();
      }
      waiting.add(unit);
      writes.addAll(unit.writes());
      bytes += unit.bytes();
      entries += unit.entries().size();
    }

    void flush() {
      if (waiting.isEmpty()) {
        return;
      }
      List<Unit> units = waiting;
      long records = entries;
      long length = bytes;
      waiting = new ArrayList<>();
      writes.clear();
      bytes = 0;
      entries = 0;
      room.acquireUninterruptibly();
      worker.execute(() -> bring(units, records, length));
    }

    private void bring(List<Unit> units, long records, long length) {
      try {
        if (failure.get() == null) {
          delivery.bring(units);
          progress.done(records, length);
        }
      } catch (IOException | RuntimeException e) {
        // Told by whoever reads on, on the main thread.
        failure.compareAndSet(null, e);
      } finally {
        room.release();
      }
    }

    void settle() {
      flush();
      room.acquireUninterruptibly(AHEAD);
      room.release(AHEAD);
    }
  }

  /**
   * Loads all files, one after the other.
   *
   * @throws Stop when the service does not serve any more, or does not let in
   */
  void load(List<Path> files) throws IOException {
    for (int i = 0; i < files.size(); i++) {
      try (BufferedReader lines = Files.newBufferedReader(files.get(i))) {
        long number = 0;
        for (String line = lines.readLine(); line != null; line = lines.readLine()) {
          number++;
          take(new Unit.Place(i, number), line);
          requireNoFailure();
        }
      }
    }
    settle();
  }

  private void take(Unit.Place place, String line) throws IOException {
    long bytes = line.getBytes(StandardCharsets.UTF_8).length + 1L;
    if (line.isBlank() || journal.isDone(place)) {
      progress.skip(bytes);
      return;
    }
    try {
      give(UnitReader.read(place, bytes, line));
    } catch (UnitReader.Unreadable e) {
      refusals.add(place, e);
      progress.skip(bytes);
    }
  }

  private void give(Unit unit) throws IOException {
    boolean wasAlone = alone;
    alone = unit.about().isEmpty();
    if (alone != wasAlone) {
      settle();
    }
    lanes.get(Math.floorMod(unit.about().hashCode(), lanes.size())).add(unit);
  }

  private void settle() throws IOException {
    lanes.forEach(Lane::flush);
    lanes.forEach(Lane::settle);
    requireNoFailure();
  }

  private void requireNoFailure() throws IOException {
    Exception failed = failure.get();
    if (failed instanceof IOException e) {
      throw e;
    } else if (failed instanceof RuntimeException e) {
      throw e;
    }
  }

  @Override
  public void close() {
    lanes.forEach(lane -> lane.worker.shutdownNow());
  }
}

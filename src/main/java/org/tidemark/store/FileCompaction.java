package org.tidemark.store;

import java.util.concurrent.ConcurrentHashMap;
import java.util.concurrent.ConcurrentMap;
import org.h2.mvstore.MVStore;
import org.h2.mvstore.MVStoreException;
import org.h2.mvstore.RandomAccessStore;

/**
 * Keeps the file of an embedded database from growing with every commit.
 *
 * <p>H2 appends the changed pages of a commit to its file. What they replace is garbage, which H2
 * collects in a thread of its own that does not run here, as it would also write commits. So this
 * thread does the same work: after commits it moves what is still alive out of parts of the file
 * that are mostly garbage, a little at a time, so that commits wait only briefly. When commits have
 * stopped and little garbage is left, it moves the last parts of the file into what is free before
 * them, so that the file gives room back to the disk. As it looks at the store all the time, it is
 * also the one that notices when the store has failed.
 */
final class FileCompaction implements Runnable {
  private static final long PAUSE_MS = 250;

  /** The pause while there is more to move than one turn could, also when commits have stopped. */
  private static final long PAUSE_WHEN_BEHIND_MS = 25;

  /** While there are commits, work begins when less than this of the file, in percent, is alive. */
  private static final int FILL_PERCENT_WHEN_BUSY = 35;

  /** When there are none, it goes on until this much is alive. */
  private static final int FILL_PERCENT = 70;

  /** So many bytes are moved at once, at most. */
  private static final int MOVED_BYTES = 4 << 20;

  /** Nor more than this, where less than that does not help. */
  private static final long MOST_MOVED_BYTES = 256 << 20;

  /** A file of so many bytes keeps what is free in it: the next commits need it. */
  static final long SMALL_BYTES = 64 << 20;

  /** So often in a row; commits get their turn in between. */
  private static final int MOST_ROUNDS = 8;

  private static final ConcurrentMap<MVStore, Thread> RUNNING = new ConcurrentHashMap<>();

  private final MVStore store;

  private FileCompaction(MVStore store) {
    this.store = store;
  }

  /** Begins for a store, unless it runs for it. It ends with the store. */
  static void of(MVStore store) {
    RUNNING.computeIfAbsent(store, FileCompaction::begin);
  }

  private static Thread begin(MVStore store) {
    Thread thread = new Thread(new FileCompaction(store), "file compaction");
    thread.setDaemon(true);
    thread.start();
    return thread;
  }

  @Override
  public void run() {
    try {
      long seen = store.getCurrentVersion();
      boolean wasBusy = false;
      boolean behind = false;
      while (!store.isClosed()) {
        Thread.sleep(behind ? PAUSE_WHEN_BEHIND_MS : PAUSE_MS);
        boolean busy = store.getCurrentVersion() != seen;
        if (busy || wasBusy || behind) {
          behind = !compacted(busy ? FILL_PERCENT_WHEN_BUSY : FILL_PERCENT) || (!busy && shrunk());
        }
        wasBusy = busy;
        seen = store.getCurrentVersion();
      }
    } catch (InterruptedException stopped) {
      Thread.currentThread().interrupt();
    } catch (MVStoreException failed) {
      // A store that closes meanwhile ends the work; one that fails tells each of its users.
      if (!store.isClosed()) {
        throw failed;
      }
    } finally {
      FailedStore.tell(store);
      RUNNING.remove(store);
    }
  }

  /** Whether enough is alive after some rounds of work. */
  private boolean compacted(int fillPercent) {
    for (int round = 0; round < MOST_ROUNDS; round++) {
      if (!store.compact(fillPercent, MOVED_BYTES)) {
        return true;
      }
      // What was moved is on the disk before the place it was moved from counts as free.
      store.commit();
    }
    return false;
  }

  /**
   * Moves some of the last parts to the front, and says whether the file is shorter for it. More is
   * moved at once only where less does not help, as when a part is as large as what one transaction
   * wrote.
   */
  private boolean shrunk() {
    RandomAccessStore file = (RandomAccessStore) store.getFileStore();
    long before = file.size();
    long most = MOVED_BYTES;
    while (file.size() >= before
        && before > SMALL_BYTES
        && file.getFillRate() < FILL_PERCENT
        && most <= MOST_MOVED_BYTES) {
      file.compactMoveChunks(FILL_PERCENT, most, store);
      most *= 4;
    }
    return file.size() < before;
  }
}

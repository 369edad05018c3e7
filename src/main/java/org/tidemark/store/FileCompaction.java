package org.tidemark.store;

import java.sql.Connection;
import java.sql.SQLException;
import java.util.concurrent.ConcurrentHashMap;
import java.util.concurrent.ConcurrentMap;
import org.h2.engine.Database;
import org.h2.engine.SessionLocal;
import org.h2.jdbc.JdbcConnection;
import org.h2.mvstore.MVStore;
import org.h2.mvstore.MVStoreException;

/**
 * Keeps the file of an embedded database from growing with every commit.
 *
 * <p>H2 appends the changed pages of a commit to its file. What they replace is garbage, which H2
 * collects in a thread of its own that runs only when commits are delayed; ours are not. So this
 * thread does the same work: after commits it moves what is still alive out of parts of the file
 * that are mostly garbage, a little at a time, so that commits wait only briefly.
 */
final class FileCompaction implements Runnable {
  private static final long PAUSE_MS = 250;

  /** The pause while there is more to move than one turn could, also when commits have stopped. */
  private static final long PAUSE_WHEN_BEHIND_MS = 25;

  /** Parts of the file of which less than this, in percent, is alive are emptied. */
  private static final int FILL_PERCENT = 70;

  /** So many bytes are moved at once, at most. */
  private static final int MOVED_BYTES = 4 << 20;

  /** So often in a row; commits get their turn in between. */
  private static final int MOST_ROUNDS = 8;

  private static final ConcurrentMap<MVStore, Thread> RUNNING = new ConcurrentHashMap<>();

  private final MVStore store;

  private FileCompaction(MVStore store) {
    this.store = store;
  }

  /** Begins for the database of a connection, unless it runs for it. It ends with the database. */
  static void of(Connection connection) throws SQLException {
    if (connection.unwrap(JdbcConnection.class).getSession() instanceof SessionLocal session) {
      Database database = session.getDatabase();
      if (database.isPersistent()) {
        RUNNING.computeIfAbsent(database.getStore().getMvStore(), FileCompaction::begin);
      }
    }
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
      boolean behind = false;
      while (!store.isClosed()) {
        Thread.sleep(behind ? PAUSE_WHEN_BEHIND_MS : PAUSE_MS);
        long now = store.getCurrentVersion();
        if (behind || now != seen) {
          int rounds = 0;
          while (rounds < MOST_ROUNDS && store.compact(FILL_PERCENT, MOVED_BYTES)) {
            // What was moved is on the disk before the place it was moved from counts as free.
            store.commit();
            rounds++;
          }
          behind = rounds == MOST_ROUNDS;
          seen = store.getCurrentVersion();
        }
      }
    } catch (InterruptedException stopped) {
      Thread.currentThread().interrupt();
    } catch (MVStoreException failed) {
      // A store that closes meanwhile ends the work; one that fails tells each of its users.
      if (!store.isClosed()) {
        throw failed;
      }
    } finally {
      RUNNING.remove(store);
    }
  }
}

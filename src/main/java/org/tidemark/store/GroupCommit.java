package org.tidemark.store;

import java.sql.SQLException;
import java.sql.SQLNonTransientException;
import java.util.concurrent.ConcurrentHashMap;
import java.util.concurrent.ConcurrentMap;
import java.util.concurrent.atomic.AtomicInteger;
import org.h2.mvstore.DataUtils;
import org.h2.mvstore.MVStore;
import org.h2.mvstore.MVStoreException;

/**
 * Brings commits to the disk together: whoever comes first writes for everyone who has committed by
 * then, and who comes meanwhile waits for the next write. A forced write takes about as long for
 * one commit as for sixteen.
 */
final class GroupCommit {
  private static final ConcurrentMap<MVStore, GroupCommit> ALL = new ConcurrentHashMap<>();

  private final MVStore store;

  /** Commits that others can see already and the disk may not have yet. */
  private final AtomicInteger underway = new AtomicInteger();

  // Guarded by this object.
  private boolean writing;
  private long begun;
  private long ended;

  private GroupCommit(MVStore store) {
    this.store = store;
  }

  /** The one of a database; the first time, that database leaves its writing to it. */
  static GroupCommit of(MVStore store) {
    ALL.keySet().removeIf(MVStore::isClosed);
    return ALL.computeIfAbsent(store, GroupCommit::begin);
  }

  private static GroupCommit begin(MVStore store) {
    // Neither with each commit (0) nor in H2's own thread (more).
    store.setAutoCommitDelay(-1);
    return new GroupCommit(store);
  }

  /** A commit in memory. */
  interface Commit {
    void run() throws SQLException;
  }

  /**
   * Commits, and returns when the disk has it.
   *
   * @param commit makes the changes visible to others
   * @param writes whether there are changes. Without any it returns once the disk has all that the
   *     transaction can have read
   */
  void commit(Commit commit, boolean writes) throws SQLException {
    if (!writes) {
      commit.run();
      if (underway.get() > 0) {
        write();
      }
      return;
    }
    underway.incrementAndGet();
    try {
      commit.run();
      write();
    } finally {
      underway.decrementAndGet();
    }
  }

  /** Returns after a write that has begun after the call. */
  private void write() throws SQLException {
    try {
      if (isMyTurn()) {
        boolean written = false;
        try {
          store.commit();
          requireOpen();
          written = true;
        } finally {
          end(written);
        }
      }
    } catch (InterruptedException e) {
      Thread.currentThread().interrupt();
      throw new SQLNonTransientException("interrupted before the disk had the commit", e);
    } catch (MVStoreException e) {
      FailedStore.tell(store);
      throw Outage.ofCommit(e);
    }
  }

  /**
   * A store that has failed in another's hands takes commits without a word, and writes nothing.
   */
  private void requireOpen() {
    if (store.isClosed()) {
      MVStoreException failure = store.getPanicException();
      throw failure != null
          ? failure
          : new MVStoreException(DataUtils.ERROR_CLOSED, "the store is closed");
    }
  }

  /** Waits until another has written for the caller (false), or the caller has to (true). */
  private synchronized boolean isMyTurn() throws InterruptedException {
    // A write that runs already may have missed the commit; the one after it has not.
    long needed = begun + 1;
    while (writing && ended < needed) {
      wait();
    }
    if (ended >= needed) {
      return false;
    }
    writing = true;
    begun++;
    return true;
  }

  private synchronized void end(boolean written) {
    writing = false;
    if (written) {
      ended = begun;
    }
    notifyAll();
  }
}

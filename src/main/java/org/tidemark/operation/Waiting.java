package org.tidemark.operation;

import java.io.IOException;
import java.sql.SQLException;
import org.tidemark.store.EmbeddedFile;

/** Waits for what a command has asked of the running service. */
final class Waiting {
  private static final long LOOK_MS = 200;

  /** The service looks every second; one that has not begun by then does not look. */
  private static final long BEGIN_MS = 60_000;

  private Waiting() {}

  /**
   * Waits until it is done, however long that takes.
   *
   * @throws IOException when the service does not begin it, or ends before it is done
   */
  static Errand.Told until(Errand errand, Errand.Kind kind, EmbeddedFile database)
      throws IOException, SQLException, InterruptedException {
    long waited = 0;
    while (!errand.isDone()) {
      Thread.sleep(LOOK_MS);
      waited += LOOK_MS;
      if (errand.isWaiting(kind) && waited > BEGIN_MS) {
        throw new IOException("the process that has opened the database does not answer");
      }
      if (waited % BEGIN_MS == 0
          && database.state() != EmbeddedFile.State.SERVING
          && !errand.isDone()) {
        throw new IOException("the service has ended meanwhile");
      }
    }
    return errand.told();
  }
}

package org.tidemark.store;

import java.io.IOException;
import java.nio.ByteBuffer;
import java.nio.channels.FileChannel;
import java.nio.channels.FileLock;
import java.nio.channels.ReadableByteChannel;
import java.nio.channels.WritableByteChannel;
import java.sql.Connection;
import java.sql.SQLException;
import java.util.HashSet;
import java.util.Properties;
import java.util.Set;
import org.h2.engine.SessionLocal;
import org.h2.jdbc.JdbcConnection;
import org.h2.mvstore.MVStore;
import org.h2.store.fs.FileBase;
import org.h2.store.fs.FilePath;
import org.h2.store.fs.FilePathWrapper;

/**
 * H2 whose commits return only when the disk has them.
 *
 * <p>H2 has a thread of its own write what was committed, some time after, and does not force its
 * file to the disk. Here a commit waits for a write that has it ({@link GroupCommit}), and behind
 * the file system {@code fsync:} each write is forced, so that what was acknowledged survives a
 * loss of power. As each write is on the disk before the next begins, space can be used again at
 * once ({@code RETENTION_TIME=0}); {@link FileCompaction} sees to it that there is such space.
 *
 * <p>This holds for {@link Connection#commit}. What is written with auto-commit is on the disk with
 * the next commit of any connection, or when the database closes.
 */
public final class DurableH2Driver extends org.h2.Driver {

  /** The file system's name in a JDBC URL: {@code jdbc:h2:fsync:./data/tidemark}. */
  public static final String SCHEME = "fsync";

  private static final Set<String> OPENED = new HashSet<>();

  static {
    FilePath.register(new ForcedPath());
  }

  @Override
  public Connection connect(String url, Properties info) throws SQLException {
    if (url == null || !url.startsWith("jdbc:h2:" + SCHEME + ":")) {
      return super.connect(url, info);
    }
    try {
      restoreOnce(url);
    } catch (IOException e) {
      throw new SQLException("the copy from before a migration is not to be read", e);
    }
    DurableConnection connection = new DurableConnection(url, info);
    FileCompaction.of(connection.store);
    return connection;
  }

  /** Before a file is opened for the first time. */
  private static synchronized void restoreOnce(String url) throws IOException {
    if (OPENED.add(url)) {
      MigrationCopy.restoreUnfinished(url);
    }
  }

  private static final class DurableConnection extends JdbcConnection {
    private final SessionLocal session;
    private final MVStore store;
    private final GroupCommit group;
    private boolean resetting;

    private DurableConnection(String url, Properties info) throws SQLException {
      super(url, info, null, null, false);
      session = (SessionLocal) getSession();
      store = session.getDatabase().getStore().getMvStore();
      group = GroupCommit.of(store);
    }

    @Override
    public void commit() throws SQLException {
      boolean writes = session.containsUncommitted();
      if (resetting && !writes) {
        super.commit();
      } else {
        group.commit(super::commit, writes);
      }
    }

    /** Commits, too; after a commit there is nothing more to wait for. */
    @Override
    public void setAutoCommit(boolean autoCommit) throws SQLException {
      resetting = true;
      try {
        super.setAutoCommit(autoCommit);
      } finally {
        resetting = false;
      }
    }
  }

  /** Paths whose files are forced. Public, because H2 makes further ones by reflection. */
  public static final class ForcedPath extends FilePathWrapper {
    /** For H2. */
    public ForcedPath() {}

    @Override
    public String getScheme() {
      return SCHEME;
    }

    @Override
    public FileChannel open(String mode) throws IOException {
      return new ForcedChannel(getBase().open(mode));
    }
  }

  /** A change of a file. */
  private interface Write {
    long run() throws IOException;
  }

  /**
   * A file that forces after each write, and that takes no further write once one has failed. A
   * store whose write has failed lets go of its lock before it closes; who waits for the lock would
   * then write the next state over what the last whole one needs.
   */
  private static final class ForcedChannel extends FileBase {
    private static final int PIECE = 64 << 10;

    private final FileChannel file;

    /** The first failure. Guarded by this object. */
    private IOException failure;

    private ForcedChannel(FileChannel file) {
      this.file = file;
    }

    private synchronized long written(Write write, boolean metadata) throws IOException {
      if (failure != null) {
        throw new IOException("a write before this one has failed", failure);
      }
      try {
        long written = write.run();
        file.force(metadata);
        return written;
      } catch (IOException e) {
        failure = e;
        throw e;
      }
    }

    @Override
    public int write(ByteBuffer from) throws IOException {
      return (int) written(() -> file.write(from), false);
    }

    /** In pieces: for each thread that writes, Java keeps a copy of the largest it has written. */
    @Override
    public int write(ByteBuffer from, long position) throws IOException {
      return (int) written(() -> inPieces(from, position), false);
    }

    private int inPieces(ByteBuffer from, long position) throws IOException {
      int written = 0;
      int end = from.limit();
      while (from.position() < end) {
        from.limit(Math.min(end, from.position() + PIECE));
        written += file.write(from, position + written);
      }
      return written;
    }

    @Override
    public long write(ByteBuffer[] from, int offset, int length) throws IOException {
      return written(() -> file.write(from, offset, length), false);
    }

    @Override
    public long transferFrom(ReadableByteChannel from, long position, long count) {
      try {
        return written(() -> file.transferFrom(from, position, count), false);
      } catch (IOException e) {
        throw new java.io.UncheckedIOException(e);
      }
    }

    @Override
    public FileChannel truncate(long size) throws IOException {
      written(() -> file.truncate(size).size(), true);
      return this;
    }

    @Override
    public int read(ByteBuffer to) throws IOException {
      return file.read(to);
    }

    @Override
    public int read(ByteBuffer to, long position) throws IOException {
      return file.read(to, position);
    }

    @Override
    public long read(ByteBuffer[] to, int offset, int length) throws IOException {
      return file.read(to, offset, length);
    }

    @Override
    public long transferTo(long position, long count, WritableByteChannel to) {
      try {
        return file.transferTo(position, count, to);
      } catch (IOException e) {
        throw new java.io.UncheckedIOException(e);
      }
    }

    @Override
    public long position() throws IOException {
      return file.position();
    }

    @Override
    public FileChannel position(long position) throws IOException {
      file.position(position);
      return this;
    }

    @Override
    public long size() throws IOException {
      return file.size();
    }

    @Override
    public void force(boolean metadata) throws IOException {
      file.force(metadata);
    }

    @Override
    public FileLock tryLock(long position, long size, boolean shared) throws IOException {
      return file.tryLock(position, size, shared);
    }

    @Override
    protected void implCloseChannel() throws IOException {
      file.close();
    }
  }
}

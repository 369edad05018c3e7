package org.tidemark.store;

import java.io.IOException;
import java.nio.ByteBuffer;
import java.nio.channels.FileChannel;
import java.nio.channels.FileLock;
import java.nio.channels.ReadableByteChannel;
import java.nio.channels.WritableByteChannel;
import java.sql.Connection;
import java.sql.SQLException;
import java.util.Properties;
import org.h2.store.fs.FileBase;
import org.h2.store.fs.FilePath;
import org.h2.store.fs.FilePathWrapper;

/**
 * H2 with one more file system, {@code fsync:}, which returns from a write only when the disk has
 * it.
 *
 * <p>With {@code WRITE_DELAY=0} H2 writes a commit to its file before it acknowledges it, but does
 * not force the file to the disk. Behind this file system it does, so that what was acknowledged
 * survives a loss of power, at the price of one forced write for each that H2 makes. As each write
 * is on the disk before the next begins, space can be used again at once ({@code
 * RETENTION_TIME=0}); the driver also sees to it that there is such space, which H2 with {@code
 * WRITE_DELAY=0} does not.
 */
public final class DurableH2Driver extends org.h2.Driver {

  /** The file system's name in a JDBC URL: {@code jdbc:h2:fsync:./data/tidemark}. */
  public static final String SCHEME = "fsync";

  static {
    FilePath.register(new ForcedPath());
  }

  @Override
  public Connection connect(String url, Properties info) throws SQLException {
    Connection connection = super.connect(url, info);
    if (connection != null && url.startsWith("jdbc:h2:" + SCHEME + ":")) {
      FileCompaction.of(connection);
    }
    return connection;
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

  /** A file that forces after each write. */
  private static final class ForcedChannel extends FileBase {
    private final FileChannel file;

    private ForcedChannel(FileChannel file) {
      this.file = file;
    }

    @Override
    public int write(ByteBuffer from) throws IOException {
      int written = file.write(from);
      file.force(false);
      return written;
    }

    @Override
    public int write(ByteBuffer from, long position) throws IOException {
      int written = file.write(from, position);
      file.force(false);
      return written;
    }

    @Override
    public long write(ByteBuffer[] from, int offset, int length) throws IOException {
      long written = file.write(from, offset, length);
      file.force(false);
      return written;
    }

    @Override
    public long transferFrom(ReadableByteChannel from, long position, long count) {
      try {
        long written = file.transferFrom(from, position, count);
        file.force(false);
        return written;
      } catch (IOException e) {
        throw new java.io.UncheckedIOException(e);
      }
    }

    @Override
    public FileChannel truncate(long size) throws IOException {
      file.truncate(size);
      file.force(true);
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

package org.tidemark.store;

import java.io.IOException;
import java.nio.ByteBuffer;
import java.nio.channels.FileChannel;
import java.nio.channels.FileLock;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.concurrent.atomic.AtomicBoolean;
import org.h2.store.fs.FileBase;
import org.h2.store.fs.FilePath;
import org.h2.store.fs.FilePathWrapper;
import org.tidemark.Tidemark;

/**
 * A disk that can be filled, and the service on it. While the file that {@link #SWITCH} names
 * exists, no file grows: a write that would grow one writes what fits and fails, as on a full disk.
 */
public final class FullDisk {
  /** The file system's name in an address of H2. */
  public static final String SCHEME = "full";

  /** The environment variable with the path of the file that fills the disk. */
  public static final String SWITCH = "FULL_DISK";

  private static final Path FULL = Path.of(System.getenv().getOrDefault(SWITCH, "none"));

  private static volatile boolean full;

  /** Whether the next write that would grow a file fails, and no other. */
  private static final AtomicBoolean FAILS_ONCE = new AtomicBoolean();

  private FullDisk() {}

  /** Fills the disk of this process, or makes room again. */
  static void fill(boolean filled) {
    full = filled;
  }

  /** Has the next write of this process fail that grows a file. */
  static void failOnce() {
    FAILS_ONCE.set(true);
  }

  private static boolean isFull() {
    return full || Files.exists(FULL);
  }

  /** Starts the service. */
  public static void main(String... args) {
    FilePath.register(new Disk());
    Tidemark.main(args);
  }

  /** Paths of that disk. Public, because H2 makes further ones by reflection. */
  public static final class Disk extends FilePathWrapper {
    /** For H2. */
    public Disk() {}

    @Override
    public String getScheme() {
      return SCHEME;
    }

    @Override
    public FileChannel open(String mode) throws IOException {
      return new OnDisk(getBase().open(mode));
    }
  }

  /** A file of that disk. H2's store writes at positions only. */
  private static final class OnDisk extends FileBase {
    private final FileChannel file;

    private OnDisk(FileChannel file) {
      this.file = file;
    }

    @Override
    public int write(ByteBuffer from, long position) throws IOException {
      long room = file.size() - position;
      if (room >= from.remaining() || !(isFull() || FAILS_ONCE.getAndSet(false))) {
        return file.write(from, position);
      }
      if (room > 0) {
        from.limit(from.position() + (int) room);
        file.write(from, position);
      }
      throw new IOException("No space left on device");
    }

    @Override
    public int write(ByteBuffer from) throws IOException {
      return write(from, file.position());
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
    public FileChannel truncate(long size) throws IOException {
      file.truncate(size);
      return this;
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

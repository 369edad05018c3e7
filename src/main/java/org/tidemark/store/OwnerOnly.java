package org.tidemark.store;

import java.io.IOException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.nio.file.StandardCopyOption;
import java.nio.file.attribute.FileAttribute;
import java.nio.file.attribute.PosixFilePermission;
import java.nio.file.attribute.PosixFilePermissions;
import java.util.Set;

/** Files that only their owner reads: what they hold is about people, or secret. */
public final class OwnerOnly {
  private static final FileAttribute<Set<PosixFilePermission>> OWNER =
      PosixFilePermissions.asFileAttribute(PosixFilePermissions.fromString("rw-------"));

  private OwnerOnly() {}

  /** Makes an empty one, in the place of what may be there. */
  static void make(Path file) throws IOException {
    Files.deleteIfExists(file);
    Files.createFile(file, OWNER);
  }

  /** Copies a file into one; it takes its place when it is whole. */
  public static void copy(Path from, Path to) throws IOException {
    Path begun = to.resolveSibling(to.getFileName() + ".begun");
    make(begun);
    Files.write(begun, Files.readAllBytes(from));
    Files.move(begun, to, StandardCopyOption.ATOMIC_MOVE);
  }
}

package org.tidemark.programme;

import org.tidemark.fhir.ProfileFiles;
import org.tidemark.fhir.ProgrammeReader;

/** The two programmes that ship, read once for all tests of the core. */
public final class TestProgrammes {
  public static final Programme KNEE =
      ProgrammeReader.read(ProfileFiles.plan("knee-deep-flexion"), ProfileFiles::byCanonical);
  public static final Programme HEEL =
      ProgrammeReader.read(ProfileFiles.plan("standing-heel-raise"), ProfileFiles::byCanonical);

  private TestProgrammes() {}
}

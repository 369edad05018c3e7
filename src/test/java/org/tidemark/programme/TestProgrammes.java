package org.tidemark.programme;

import java.math.BigDecimal;
import java.util.List;
import org.tidemark.fhir.ProfileFiles;
import org.tidemark.fhir.ProgrammeReader;

/** The two programmes that ship, read once for all tests of the core. */
public final class TestProgrammes {
  public static final Programme KNEE_AS_SHIPPED =
      ProgrammeReader.read(ProfileFiles.plan("knee-deep-flexion"), ProfileFiles::byCanonical);

  /**
   * The knee's programme at the strictest grading: 5, 7 and 9 clear sessions in a row for a step
   * without load, with body weight and with dumbbells, and 80 % of what was asked.
   */
  public static final Programme KNEE = strict(KNEE_AS_SHIPPED);

  public static final Programme HEEL =
      ProgrammeReader.read(ProfileFiles.plan("standing-heel-raise"), ProfileFiles::byCanonical);

  private TestProgrammes() {}

  private static Programme strict(Programme p) {
    List<String> rates = List.of("0.25", "0.25", "0.20", "0.15");
    List<Stage> stages =
        p.stages().stream()
            .map(
                s ->
                    new Stage(
                        s.code(),
                        s.title(),
                        new BigDecimal(rates.get(p.stages().indexOf(s))),
                        s.conditions(),
                        s.exercises()))
            .toList();
    return new Programme(
        p.id(),
        p.title(),
        p.bodyRegions(),
        p.needs(),
        p.placements(),
        stages,
        p.goals(),
        p.plateauOptions(),
        p.maintenancePerWeek(),
        p.demandCap(),
        Programme.USUAL_ADHERENCE);
  }
}

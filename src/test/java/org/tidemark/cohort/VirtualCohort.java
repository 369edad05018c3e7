package org.tidemark.cohort;

import java.io.IOException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.Arrays;
import java.util.Locale;
import java.util.Map;
import java.util.Optional;
import java.util.stream.Stream;
import org.hl7.fhir.r4.model.ActivityDefinition;
import org.hl7.fhir.r4.model.PlanDefinition;
import org.hl7.fhir.r4.model.Resource;
import org.tidemark.fhir.ProfileFiles;
import org.tidemark.fhir.ProgrammeReader;
import org.tidemark.programme.Programme;
import org.tidemark.programme.TestProgrammes;

/** Runs the virtual cohort and writes what it found as a page for clinicians. */
public final class VirtualCohort {
  private static final Path REPORT = Path.of("target", "cohort", "report.html");

  private VirtualCohort() {}

  /**
   * Runs a study.
   *
   * @param args how many people (2000), how many weeks (52), the seed (1), and the file of a
   *     PlanDefinition, whose exercises lie in the same folder or ship with the service (the knee)
   */
  public static void main(String[] args) throws IOException {
    System.setProperty("java.awt.headless", "true");
    int number = args.length > 0 ? Integer.parseInt(args[0]) : 2_000;
    int weeks = args.length > 1 ? Integer.parseInt(args[1]) : 52;
    long seed = args.length > 2 ? Long.parseLong(args[2]) : 1;
    Programme programme = args.length > 3 ? read(Path.of(args[3])) : TestProgrammes.KNEE_AS_SHIPPED;
    Study study = Study.of(programme, seed, number, weeks);
    Files.createDirectories(REPORT.getParent());
    Files.writeString(REPORT, Report.of(study));
    print(study);
  }

  private static Programme read(Path file) throws IOException {
    Path folder = file.toAbsolutePath().getParent();
    return ProgrammeReader.read(
        (PlanDefinition) ProfileFiles.parse(file), canonical -> exercise(folder, canonical));
  }

  private static Optional<ActivityDefinition> exercise(Path folder, String canonical) {
    try (Stream<Path> files = Files.list(folder)) {
      for (Path file : files.filter(path -> path.toString().endsWith(".json")).toList()) {
        Resource resource = ProfileFiles.parse(file);
        if (resource instanceof ActivityDefinition exercise
            && canonical.equals(exercise.getUrl() + "|" + exercise.getVersion())) {
          return Optional.of(exercise);
        }
      }
    } catch (IOException e) {
      throw new java.io.UncheckedIOException(e);
    }
    return ProfileFiles.byCanonical(canonical);
  }

  private static void print(Study study) {
    System.out.printf(
        Locale.ROOT,
        "%d people, %d weeks, seed %d; the rules alone took %.1f s%n",
        study.number(),
        study.weeks(),
        study.seed(),
        study.seconds());
    print(study.figures());
    System.out.println();
    print(study.variants());
    study
        .sensitivity()
        .forEach(
            (scenario, figures) -> {
              System.out.println("\n" + scenario.name());
              print(figures);
            });
    HeldUpDays days = HeldUpDays.of(study.outcomesOfRules(), study.programme().stages().size());
    System.out.println("\ndays before the goal under the rules, %, by stage");
    for (HeldUp why : days.mostFirst()) {
      System.out.printf(
          Locale.ROOT,
          "%-22s %5.1f %s%n",
          why,
          100 * days.share(why),
          Arrays.stream(days.byStage().get(why))
              .mapToObj(share -> String.format(Locale.ROOT, "%5.1f", 100 * share))
              .toList());
    }
    print(study.coverage(), "readings as they come");
    print(study.weeklyCoverage(), "readings every week");
    System.out.println(REPORT.toAbsolutePath());
  }

  private static void print(Map<Policy, Figures> figures) {
    System.out.printf(
        Locale.ROOT,
        "%-36s %22s %22s %18s %20s %20s %8s %8s %8s%n",
        "",
        "flares/year",
        "flares/365 sessions",
        "episodes/year",
        "median weeks",
        "reached %",
        "last %",
        "eased %",
        "held %");
    figures.forEach(
        (policy, f) ->
            System.out.printf(
                Locale.ROOT,
                "%-36s %22s %22s %18s %20s %20s %8.1f %8.1f %8.1f%n",
                policy.title(),
                words(f.flaresPerYear(), 1),
                words(f.flaresPerExercise(), 1),
                words(f.episodesPerYear(), 1),
                words(f.goalWeeks(), 1),
                words(f.reached(), 100),
                100 * f.reachedLast().value(),
                100 * f.eased().value(),
                100 * f.withheld().value()));
  }

  private static void print(Map<Integer, Coverage.Tally> coverage, String how) {
    System.out.println("\n" + how);
    coverage.forEach(
        (readings, tally) ->
            System.out.printf(
                Locale.ROOT,
                "%2d: %d inside, %d early, %d late of %d; cannot %s (stops short, arrived %d)%n",
                readings,
                tally.inside(),
                tally.early(),
                tally.late(),
                tally.made(),
                tally.cannot(),
                tally.arrivedOfShort()));
    Coverage.Tally all = Coverage.together(coverage);
    System.out.printf(
        Locale.ROOT,
        "coverage %.1f %% (%.1f to %.1f) of %d%n",
        100.0 * all.inside() / all.made(),
        100 * all.limits().low(),
        100 * all.limits().high(),
        all.made());
  }

  private static String words(Band band, double scale) {
    return Report.number(scale * band.value())
        + " ("
        + Report.number(scale * band.low())
        + "-"
        + Report.number(scale * band.high())
        + ")";
  }
}

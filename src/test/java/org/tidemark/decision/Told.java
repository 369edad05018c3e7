package org.tidemark.decision;

import java.util.Locale;
import org.tidemark.fhir.ProfileFiles;
import org.tidemark.fhir.ProgrammeReader;
import org.tidemark.fhir.Translations;
import org.tidemark.programme.Precaution;
import org.tidemark.programme.Programme;

/** Courses of plans for the tests of what is drawn and written of them. */
public final class Told {
  private Told() {}

  /**
   * A knee's first months: weekly readings, steps, a flare and a warning.
   *
   * @param degreesAWeek how much the bend gains
   */
  public static Chronicle course(int weeks, double degreesAWeek) {
    return chronicle(story(weeks, degreesAWeek));
  }

  /** The same under a surgeon's limit, at the end of which a warning is open. */
  public static Chronicle stopped(int weeks) {
    Story story = story(weeks, 1);
    story.limited(Precaution.Scope.LOADED, "knee-flexion", "", "150 deg");
    return chronicle(story.warning(Warning.LOCKING));
  }

  /** Nobody is placed yet. */
  public static Chronicle incomplete() {
    return chronicle(Story.knee().doesNotKnow("gap").begins());
  }

  /** Long: a year of quiet days, every change agreed to, a reading a week. */
  public static Chronicle year() {
    Story story = Story.knee().knows("other-side-flexion", "150 deg").begins();
    for (int day = 0; day < 365; day++) {
      if (day % 7 == 0) {
        story.measured("comfortable-flexion", 120 + day / 14 + " deg");
      }
      story.accepting();
      if (day % 90 == 60) {
        story.day("0 0 3");
      } else {
        story.quiet(1);
      }
    }
    return chronicle(story);
  }

  /** The programme of them all, in a language. */
  public static Programme programme(Locale language) {
    return ProgrammeReader.read(
        Translations.into(language, ProfileFiles.plan("knee-deep-flexion")),
        canonical ->
            ProfileFiles.byCanonical(canonical)
                .map(definition -> Translations.into(language, definition)));
  }

  private static Story story(int weeks, double degreesAWeek) {
    Story story = Story.bendingKnee().knows("other-side-flexion", "150 deg").begins();
    for (int week = 0; week < weeks; week++) {
      story.measured("comfortable-flexion", Math.round(120 + degreesAWeek * week) + " deg");
      story.quiet(6);
      story.day(week == weeks / 2 ? "0 0 3" : week % 3 == 1 ? "1 0 0" : "0 0 0");
    }
    return story;
  }

  private static Chronicle chronicle(Story story) {
    return Chronicle.of(story.programme, story.facts);
  }
}

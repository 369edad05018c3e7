package org.tidemark.decision;

import java.util.List;
import net.jqwik.api.Arbitraries;
import net.jqwik.api.Arbitrary;
import net.jqwik.api.Combinators;
import net.jqwik.api.Tuple;
import org.tidemark.programme.Precaution;
import org.tidemark.response.ResponsePolicy;

/** Random courses of a plan: mostly quiet days, with everything that can come between them. */
final class RandomHistories {

  /** Something that happens next in a story. */
  @FunctionalInterface
  interface Event {
    void happensIn(Story story);
  }

  /**
   * What happens in a plan, told when it is asked for.
   *
   * @param start 0 and 1 for two knees, 2 for a heel
   */
  record Script(int start, ResponsePolicy policy, ChangeControl control, List<Event> events) {
    Story told() {
      Story story = start == 0 ? Story.knee() : start == 1 ? Story.bendingKnee() : Story.heel();
      story.under(policy).under(control).begins();
      events.forEach(event -> event.happensIn(story));
      return story;
    }
  }

  private RandomHistories() {}

  /** Stories of both programmes under both policies, settings by hand included. */
  static Arbitrary<Script> any() {
    return stories(Arbitraries.frequencyOf(Tuple.of(20, events()), Tuple.of(1, byHand())));
  }

  /** Stories in which no clinician sets anything by hand. */
  static Arbitrary<Script> withoutHand() {
    return stories(events());
  }

  private static Arbitrary<Script> stories(Arbitrary<Event> events) {
    Arbitrary<ChangeControl> control =
        Arbitraries.frequency(
            Tuple.of(5, ChangeControl.WITHIN_STAGE), Tuple.of(1, ChangeControl.EVERY_CHANGE));
    return Combinators.combine(
            Arbitraries.of(0, 1, 2),
            Arbitraries.of(ResponsePolicy.class),
            control,
            events.list().ofMinSize(5).ofMaxSize(35))
        .as(Script::new);
  }

  private static Arbitrary<Event> events() {
    return Arbitraries.frequencyOf(
        Tuple.of(30, Arbitraries.integers().between(1, 14).map(n -> story -> story.quiet(n))),
        Tuple.of(20, days()),
        Tuple.of(4, Arbitraries.integers().between(1, 50).map(n -> story -> story.passes(n))),
        Tuple.of(6, Arbitraries.just(Story::accepting)),
        Tuple.of(2, Arbitraries.just(RandomHistories::refuse)),
        Tuple.of(2, pains().map(pain -> story -> story.passes(1).morning(pain))),
        Tuple.of(2, pains().map(pain -> story -> story.session(pain + " 0").passes(1))),
        Tuple.of(2, scores()),
        Tuple.of(1, Arbitraries.of(Warning.class).map(sign -> story -> story.warning(sign))),
        Tuple.of(4, Arbitraries.just(Story::resumed)),
        Tuple.of(1, Arbitraries.just(story -> story.held(true))),
        Tuple.of(3, Arbitraries.just(story -> story.held(false))),
        Tuple.of(3, equipment()),
        Tuple.of(2, precautions()),
        Tuple.of(2, baselines()));
  }

  private static Arbitrary<Event> days() {
    Arbitrary<String> words =
        Arbitraries.frequency(
            Tuple.of(12, ""),
            Tuple.of(1, " swollen"),
            Tuple.of(1, " unwilling"),
            Tuple.of(2, " no-contact"),
            Tuple.of(1, " contact-unknown"));
    return Combinators.combine(pains(), pains(), pains(), words)
        .as((during, after, morning, word) -> during + " " + after + " " + morning + word)
        .map(day -> story -> story.day(day));
  }

  private static Arbitrary<String> pains() {
    return Arbitraries.frequency(
        Tuple.of(24, "0"), Tuple.of(4, "1"), Tuple.of(2, "2"), Tuple.of(1, "6"), Tuple.of(2, "-"));
  }

  private static Arbitrary<Event> scores() {
    return Combinators.combine(
            Arbitraries.of("06:30", "13:00", "19:00", "21:00"),
            Arbitraries.integers().between(0, 3))
        .as((time, score) -> story -> story.passes(1).painAt(time, score).passes(1));
  }

  private static Arbitrary<Event> equipment() {
    Arbitrary<Event> books =
        Arbitraries.of("4 cm", "5 cm", "7.5 cm")
            .list()
            .ofMaxSize(3)
            .map(pieces -> story -> story.owns("book", pieces.toArray(String[]::new)).equipment());
    Arbitrary<Event> rolls =
        Arbitraries.of("2 cm", "4 cm", "9 cm")
            .list()
            .ofMaxSize(3)
            .map(
                pieces ->
                    story -> story.owns("towel-roll", pieces.toArray(String[]::new)).equipment());
    Arbitrary<Event> dumbbells =
        Arbitraries.of("1 kg", "2 kg", "3 kg", "10 kg")
            .list()
            .ofMaxSize(3)
            .map(
                pieces ->
                    story ->
                        story.owns("dumbbell-pair", pieces.toArray(String[]::new)).equipment());
    Arbitrary<Event> support =
        Arbitraries.of("yes", "no")
            .map(has -> story -> story.owns("hand-support", has).equipment());
    return Arbitraries.oneOf(List.of(books, rolls, dumbbells, support));
  }

  private static Arbitrary<Event> precautions() {
    Arbitrary<String[]> limits =
        Arbitraries.of(
            new String[] {"step-height", "12 cm", ""},
            new String[] {"step-height", "30 cm", ""},
            new String[] {"towel-thickness", "3 cm", ""},
            new String[] {"drop-height", "", "4 cm"},
            new String[] {"dumbbell-load", "", "1 kg"},
            new String[] {"knee-flexion", "", "90 deg"},
            new String[] {"", "", ""});
    return Combinators.combine(
            limits,
            Arbitraries.of(Precaution.Scope.class),
            Arbitraries.integers().between(0, 5),
            Arbitraries.integers().between(0, 30))
        .as(
            (limit, scope, begins, lasts) ->
                story -> {
                  Precaution open = story.limit(scope, limit[0], limit[1], limit[2]);
                  story.limited(
                      new Precaution(
                          open.text(),
                          scope,
                          open.measure(),
                          open.least(),
                          open.most(),
                          open.from().plusDays(begins),
                          java.util.Optional.of(open.from().plusDays(begins + lasts)),
                          false,
                          false));
                });
  }

  private static Arbitrary<Event> baselines() {
    return Combinators.combine(Arbitraries.of("0 cm", "3 cm", "8 cm"), Arbitraries.of("yes", "no"))
        .as(
            (gap, answer) ->
                story ->
                    story
                        .doesNotKnow("contact")
                        .knows("gap", gap)
                        .knows("can-stand-on-one-leg", answer)
                        .baseline());
  }

  private static Arbitrary<Event> byHand() {
    return Arbitraries.of("0 cm", "3 cm", "10 cm", "25 cm", "40 cm")
        .map(
            size ->
                story ->
                    story.state.inForce().stream()
                        .filter(p -> p.stage().equals("body-weight"))
                        .findFirst()
                        .ifPresent(
                            p ->
                                story.setByHand(
                                    p.variation(),
                                    p.setting().get("step-height") == null
                                        ? "drop-height"
                                        : "step-height",
                                    size)));
  }

  private static void refuse(Story story) {
    if (story.state.control().awaiting().isPresent()) {
      story.refused();
    }
  }
}

package org.tidemark.demand;

import java.util.ArrayList;
import java.util.Collections;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.Set;
import java.util.TreeSet;
import org.tidemark.programme.DemandBinding;
import org.tidemark.programme.Setting;
import org.tidemark.programme.Variation;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Unit;
import org.tidemark.quantity.Value;

/**
 * Compares what two settings of a variation ask of one person. The same facts give the same answer,
 * to the last digit.
 */
public final class Demand {
  /** The measure of the body whose reach is the deepest point of a split squat. */
  private static final String FLEXION = "knee-flexion";

  /** Deepest flexion where a variation does not say how far it goes, degrees: full contact. */
  private static final double USUAL_DEPTH = 140;

  private static final int MOST_SQUATS = 16;

  /** With two legs, the share of the one that is exercised (assumption). */
  private static final double[] LEG_BALANCE = Unknown.LEG_BALANCE.triangular(0.45, 0.50, 0.55);

  /** Whose squat is kept: a choice asks for several ratios of one person, one after the other. */
  private record Of(Body body, double deepest) {}

  /** The last few squats, each some hundred kilobytes; what they answer never changes. */
  private static final Map<Of, SplitSquat> SQUATS =
      Collections.synchronizedMap(
          new LinkedHashMap<>(16, 0.75f, true) {
            private static final long serialVersionUID = 1L;

            @Override
            protected boolean removeEldestEntry(Map.Entry<Of, SplitSquat> eldest) {
              return size() > MOST_SQUATS;
            }
          });

  private Demand() {}

  /**
   * What a setting asks beside another.
   *
   * @param variation the variation that both are settings of
   * @param from the setting that the ratio is to
   * @param to the setting that is compared with it
   * @param items the baseline, by code of the item: what is not there is estimated, which widens
   *     the band
   * @return empty where the two cannot be compared: the variation has no model, or they differ in
   *     something that the model does not see, or a value is not one that it knows, or {@code from}
   *     may ask nothing at all
   */
  public static Optional<Ratio> ratio(
      Variation variation, Setting from, Setting to, Map<String, Value> items) {
    Optional<DemandBinding> binding = variation.demand();
    Optional<DemandModel> model = binding.flatMap(bound -> DemandModel.find(bound.model()));
    if (model.isEmpty() || !sees(binding.get(), model.get(), from, to)) {
      return Optional.empty();
    }
    Optional<Map<DemandInput, Value>> first = model.get().read(binding.get(), from);
    Optional<Map<DemandInput, Value>> second = model.get().read(binding.get(), to);
    if (first.isEmpty() || second.isEmpty()) {
      return Optional.empty();
    }
    return switch (model.get()) {
      case FRONT_LEG_STATICS -> frontLeg(variation, first.get(), second.get(), items);
      case SHARE_OF_BODY_WEIGHT -> shareOfBodyWeight(first.get(), second.get(), items);
    };
  }

  /** Whether the model sees everything that two settings differ in. */
  private static boolean sees(DemandBinding binding, DemandModel model, Setting from, Setting to) {
    Set<String> variables = new TreeSet<>(from.values().keySet());
    variables.addAll(to.values().keySet());
    binding
        .variables()
        .forEach(
            (input, variable) -> {
              if (model.input(input).isPresent()) {
                variables.remove(variable);
              }
            });
    return variables.stream()
        .allMatch(code -> from.get(code) != null && from.get(code).equals(to.get(code)));
  }

  private static Optional<Ratio> frontLeg(
      Variation variation,
      Map<DemandInput, Value> from,
      Map<DemandInput, Value> to,
      Map<String, Value> items) {
    Amount reach = variation.reach().get(FLEXION);
    double deepest =
        reach == null || reach.unit() != Unit.DEGREE ? USUAL_DEPTH : reach.value().doubleValue();
    Body body = Body.of(items);
    SplitSquat.Peaks peaks = squat(body, deepest).peaks(from, to, items);
    List<String> estimated = new ArrayList<>(body.estimated());
    if (!SplitSquat.isFlat(from) && !SplitSquat.isFlat(to)) {
      estimated.remove(Body.WALL_LUNGE);
    }
    estimated.addAll(Hands.estimated(items, from, to));
    return banded(peaks.first(), peaks.second(), peaks.extrapolated(), estimated);
  }

  private static SplitSquat squat(Body body, double deepest) {
    return SQUATS.computeIfAbsent(
        new Of(body, deepest), of -> new SplitSquat(of.body(), of.deepest()));
  }

  private static Optional<Ratio> shareOfBodyWeight(
      Map<DemandInput, Value> from, Map<DemandInput, Value> to, Map<String, Value> items) {
    Body body = Body.of(items);
    double[] mass = Unknown.MASS.of(body.mass());
    List<String> estimated = new ArrayList<>(body.estimated());
    estimated.retainAll(List.of(Body.WEIGHT));
    estimated.addAll(Hands.estimated(items, from, to));
    return banded(carried(from, items, mass), carried(to, items, mass), false, estimated);
  }

  /** What one leg carries at each point, body weights. */
  private static double[] carried(
      Map<DemandInput, Value> setting, Map<String, Value> items, double[] mass) {
    boolean both = DemandInput.TWO_LEGS.equals(setting.get(DemandInput.LEGS_USED));
    double[] assist = Hands.shares(setting, items, mass);
    double held = DemandInput.held(setting);
    double[] carried = new double[mass.length];
    for (int i = 0; i < mass.length; i++) {
      carried[i] = FrontLeg.support(both ? LEG_BALANCE[i] : 1, held / mass[i], assist[i]);
    }
    return carried;
  }

  private static Optional<Ratio> banded(
      double[] from, double[] to, boolean extrapolated, List<String> estimated) {
    double[] ratios = new double[from.length];
    for (int i = 0; i < ratios.length; i++) {
      if (from[i] <= 0) {
        return Optional.empty();
      }
      ratios[i] = to[i] / from[i];
    }
    return Optional.of(Ratio.of(ratios, extrapolated, estimated));
  }
}

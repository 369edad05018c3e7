package org.tidemark.fhir;

import java.math.BigDecimal;
import java.util.ArrayList;
import java.util.HashMap;
import java.util.HashSet;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.Set;
import org.hl7.fhir.r4.model.ActivityDefinition;
import org.hl7.fhir.r4.model.Coding;
import org.hl7.fhir.r4.model.Enumerations.PublicationStatus;
import org.hl7.fhir.r4.model.Timing;
import org.tidemark.programme.Condition;
import org.tidemark.programme.DemandBinding;
import org.tidemark.programme.Direction;
import org.tidemark.programme.Dose;
import org.tidemark.programme.DoseLadder;
import org.tidemark.programme.ProgressionVariable;
import org.tidemark.programme.Source;
import org.tidemark.programme.Variation;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Unit;

/** Reads an exercise variation from its definition. */
final class ProgrammeVariations {
  private static final String ROOT = "ActivityDefinition";
  private static final Amount DAY = Amount.of(86_400, Unit.SECOND);
  private static final Set<String> EXTENSIONS =
      Set.of(
          "stage", "load-bearing", "contact-asked", "reach", "progression", "dose", "demand-model");
  private static final Set<String> PROGRESSION =
      Set.of(
          "variable",
          "title",
          "harder",
          "source",
          "goal",
          "comfortable-step",
          "demand-cap",
          "least-step-percent",
          "condition");

  private ProgrammeVariations() {}

  /** The variation; empty when anything about it is at fault. */
  static Optional<Variation> read(ActivityDefinition definition, ProgrammeFaults faults) {
    int before = faults.count();
    header(definition, faults);
    Optional<String> code = code(definition, faults);
    ProgrammePart root = ProgrammePart.of(definition, faults);
    root.only(EXTENSIONS);
    Optional<Boolean> loadBearing = root.needed("load-bearing").flatMap(ProgrammePart::flag);
    Optional<Boolean> contactAsked = root.needed("contact-asked").flatMap(ProgrammePart::flag);
    Map<String, Amount> reach = reach(root);
    int sound = faults.count();
    List<ProgressionVariable> variables = variables(root);
    Optional<DemandBinding> demand =
        faults.count() > sound
            ? Optional.empty() // whether it fits can be judged on sound variables only
            : root.one("demand-model").flatMap(part -> ProgrammeDemand.read(part, variables));
    Optional<DoseLadder> ladder =
        timesPerWeek(definition, faults).flatMap(times -> ladder(root, times));
    if (faults.count() > before) {
      return Optional.empty();
    }
    return Optional.of(
        new Variation(
            code.orElseThrow(),
            definition.getTitle(),
            definition.getUsage(),
            loadBearing.orElseThrow(),
            contactAsked.orElseThrow(),
            reach,
            variables,
            ladder.orElseThrow(),
            demand));
  }

  private static void header(ActivityDefinition definition, ProgrammeFaults faults) {
    Map<String, Boolean> present = new LinkedHashMap<>();
    present.put("url", definition.hasUrl());
    present.put("version", definition.hasVersion());
    present.put("title", definition.hasTitle());
    present.put("usage", definition.hasUsage());
    present.forEach(
        (element, there) -> {
          if (!there) {
            faults.add(Problem.Kind.MISSING, "'" + element + "' is missing", ROOT + "." + element);
          }
        });
    if (definition.getStatus() != PublicationStatus.ACTIVE) {
      faults.add(
          Problem.Kind.BUSINESS_RULE, "only an active definition can be used", ROOT + ".status");
    }
  }

  private static Optional<String> code(ActivityDefinition definition, ProgrammeFaults faults) {
    Optional<String> code =
        definition.getCode().getCoding().stream()
            .filter(Coding::hasCode)
            .map(Coding::getCode)
            .findFirst();
    if (code.isEmpty()) {
      faults.add(Problem.Kind.MISSING, "the variation has no code", ROOT + ".code");
    }
    return code;
  }

  private static Map<String, Amount> reach(ProgrammePart root) {
    Map<String, Amount> reach = new HashMap<>();
    for (ProgrammePart part : root.all("reach")) {
      part.only(Set.of("measure", "value"));
      Optional<String> measure = part.needed("measure").flatMap(ProgrammePart::code);
      Optional<Amount> value = part.needed("value").flatMap(ProgrammePart::amount);
      if (measure.isPresent()
          && value.isPresent()
          && reach.put(measure.get(), value.get()) != null) {
        part.fault(Problem.Kind.BUSINESS_RULE, "'" + measure.get() + "' is given twice");
      }
    }
    return reach;
  }

  private static List<ProgressionVariable> variables(ProgrammePart root) {
    List<ProgrammePart> parts = root.all("progression");
    Map<String, Source> sources = new HashMap<>();
    Set<String> codes = new HashSet<>();
    List<Optional<Source>> read = new ArrayList<>();
    for (ProgrammePart part : parts) {
      part.only(PROGRESSION);
      Optional<String> code = part.needed("variable").flatMap(ProgrammePart::code);
      Optional<Source> source = part.needed("source").flatMap(ProgrammeSources::read);
      read.add(source);
      if (code.isPresent() && !codes.add(code.get())) {
        part.fault(Problem.Kind.BUSINESS_RULE, "the variable '" + code.get() + "' is given twice");
      }
      source.ifPresent(known -> code.ifPresent(named -> sources.put(named, known)));
    }
    boolean complete = sources.size() == parts.size();
    ProgrammeConditions conditions =
        new ProgrammeConditions(named -> Optional.ofNullable(sources.get(named)), complete);
    List<ProgressionVariable> variables = new ArrayList<>();
    for (int i = 0; i < parts.size(); i++) {
      variable(parts.get(i), read.get(i), conditions).ifPresent(variables::add);
    }
    return variables;
  }

  private static Optional<ProgressionVariable> variable(
      ProgrammePart part, Optional<Source> source, ProgrammeConditions conditions) {
    int before = part.faults().count();
    Optional<String> code = part.one("variable").flatMap(ProgrammePart::code);
    Optional<String> title = part.needed("title").flatMap(ProgrammePart::text);
    Optional<Direction> harder = part.needed("harder").flatMap(ProgrammeVariations::direction);
    Optional<Amount> goal = part.one("goal").flatMap(at -> amountOf(source, at, 0));
    Optional<Amount> step = part.one("comfortable-step").flatMap(at -> amountOf(source, at, 1));
    Optional<BigDecimal> cap = part.one("demand-cap").flatMap(ProgrammeVariations::cap);
    Optional<ProgrammePart> leastAt = part.one("least-step-percent");
    BigDecimal least = leastAt.flatMap(ProgrammePart::decimal).orElse(BigDecimal.ZERO);
    if (least.signum() < 0 || least.compareTo(BigDecimal.valueOf(100)) > 0) {
      leastAt
          .orElseThrow()
          .fault(
              Problem.Kind.OUT_OF_RANGE, "must be 0 to 100 percent, was " + least.toPlainString());
    }
    List<Condition> requires = conditions.read(part);
    if (part.faults().count() > before || source.isEmpty() || code.isEmpty()) {
      return Optional.empty();
    }
    return Optional.of(
        new ProgressionVariable(
            code.get(),
            title.orElseThrow(),
            harder.orElseThrow(),
            source.get(),
            goal,
            step,
            cap,
            least,
            requires));
  }

  /** Reads a cap on demand: more than 1, or no step up could ever be taken. */
  static Optional<BigDecimal> cap(ProgrammePart part) {
    Optional<BigDecimal> cap = part.decimal();
    if (cap.isPresent() && cap.get().compareTo(BigDecimal.ONE) <= 0) {
      part.fault(
          Problem.Kind.OUT_OF_RANGE, "must be more than 1, was " + cap.get().toPlainString());
      return Optional.empty();
    }
    return cap;
  }

  /** Reads which way is harder or better. */
  static Optional<Direction> direction(ProgrammePart part) {
    Optional<String> code = part.code();
    if (code.isPresent() && !Set.of("increase", "decrease").contains(code.get())) {
      part.fault(Problem.Kind.MALFORMED, "wanted increase or decrease, was '" + code.get() + "'");
      return Optional.empty();
    }
    return code.map(named -> "increase".equals(named) ? Direction.INCREASE : Direction.DECREASE);
  }

  /** An amount in the unit of the source, with at least this sign. */
  private static Optional<Amount> amountOf(
      Optional<Source> source, ProgrammePart part, int leastSign) {
    if (source.isPresent() && source.get() instanceof Source.Grades) {
      part.fault(Problem.Kind.BUSINESS_RULE, "a variable of grades has no amounts");
      return Optional.empty();
    }
    Optional<Amount> amount =
        source.isPresent() ? part.amount(ProgrammeSources.unit(source.get())) : part.amount();
    if (amount.isPresent() && amount.get().value().signum() < leastSign) {
      part.fault(
          Problem.Kind.OUT_OF_RANGE, leastSign > 0 ? "must be more than 0" : "must be 0 or more");
      return Optional.empty();
    }
    return amount;
  }

  private static Optional<Integer> timesPerWeek(
      ActivityDefinition definition, ProgrammeFaults faults) {
    String path = ROOT + ".timing";
    if (!(definition.getTiming() instanceof Timing timing) || !timing.getRepeat().hasFrequency()) {
      faults.add(Problem.Kind.MISSING, "how often a week it is done is missing", path);
      return Optional.empty();
    }
    Timing.TimingRepeatComponent repeat = timing.getRepeat();
    BigDecimal days =
        repeat.getPeriodUnit() == Timing.UnitsOfTime.D
            ? BigDecimal.ONE
            : repeat.getPeriodUnit() == Timing.UnitsOfTime.WK
                ? BigDecimal.valueOf(7)
                : BigDecimal.ZERO;
    BigDecimal period = repeat.hasPeriod() ? repeat.getPeriod().multiply(days) : BigDecimal.ZERO;
    if (period.signum() <= 0) {
      faults.add(Problem.Kind.UNSUPPORTED, "wanted a period in days or weeks", path + ".repeat");
      return Optional.empty();
    }
    BigDecimal[] times = BigDecimal.valueOf(7L * repeat.getFrequency()).divideAndRemainder(period);
    if (times[1].signum() != 0
        || times[0].signum() <= 0
        || times[0].compareTo(BigDecimal.valueOf(21)) > 0) {
      faults.add(
          Problem.Kind.OUT_OF_RANGE,
          "wanted a whole number of 1 to 21 times a week",
          path + ".repeat");
      return Optional.empty();
    }
    return Optional.of(times[0].intValueExact());
  }

  private static Optional<DoseLadder> ladder(ProgrammePart root, int timesPerWeek) {
    int before = root.faults().count();
    List<ProgrammePart> parts = root.all("dose");
    if (parts.isEmpty()) {
      root.fault(Problem.Kind.MISSING, "'dose' is missing");
      return Optional.empty();
    }
    List<Dose> steps = new ArrayList<>();
    int base = -1;
    for (ProgrammePart part : parts) {
      part.only(Set.of("sets", "repetitions", "hold", "time", "base"));
      Optional<Dose> dose = dose(part, timesPerWeek);
      if (dose.isPresent()
          && !steps.isEmpty()
          && dose.get().volume() <= steps.get(steps.size() - 1).volume()) {
        part.fault(Problem.Kind.BUSINESS_RULE, "a dose must be more than the one before it");
      }
      if (part.one("base").flatMap(ProgrammePart::flag).orElse(false)) {
        if (base >= 0) {
          part.fault(Problem.Kind.BUSINESS_RULE, "only one dose is the base");
        }
        base = steps.size();
      }
      dose.ifPresent(steps::add);
    }
    if (base < 0) {
      root.fault(Problem.Kind.MISSING, "no dose is marked as the base");
    }
    return root.faults().count() > before
        ? Optional.empty()
        : Optional.of(new DoseLadder(steps, base));
  }

  private static Optional<Dose> dose(ProgrammePart part, int timesPerWeek) {
    int before = part.faults().count();
    int sets = part.needed("sets").flatMap(at -> at.whole(1)).orElse(1);
    int repetitions = part.one("repetitions").flatMap(at -> at.whole(1)).orElse(0);
    int hold = part.one("hold").flatMap(ProgrammeVariations::seconds).orElse(0);
    int time = part.one("time").flatMap(ProgrammeVariations::seconds).orElse(0);
    return part.faults().count() > before
        ? Optional.empty()
        : Optional.of(new Dose(sets, repetitions, hold, time, timesPerWeek));
  }

  private static Optional<Integer> seconds(ProgrammePart part) {
    Optional<Amount> amount = part.amount(Unit.SECOND);
    if (amount.isPresent()
        && (amount.get().value().scale() > 0
            || amount.get().value().signum() <= 0
            || amount.get().isAbove(DAY))) {
      part.fault(
          Problem.Kind.OUT_OF_RANGE, "wanted whole seconds, more than 0 and no more than a day");
      return Optional.empty();
    }
    return amount.map(seconds -> seconds.value().intValueExact());
  }
}

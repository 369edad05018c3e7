package org.tidemark.fhir;

import java.util.HashMap;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.Set;
import org.tidemark.demand.DemandInput;
import org.tidemark.demand.DemandModel;
import org.tidemark.programme.DemandBinding;
import org.tidemark.programme.ProgressionVariable;
import org.tidemark.programme.Source;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Value;

/** Reads which model compares the settings of a variation, and what feeds it. */
final class ProgrammeDemand {
  private ProgrammeDemand() {}

  /**
   * The binding; empty when anything about it is at fault.
   *
   * @param part the extension
   * @param variables the variables of the variation
   */
  static Optional<DemandBinding> read(ProgrammePart part, List<ProgressionVariable> variables) {
    int before = part.faults().count();
    part.only(Set.of("model", "input"));
    Optional<DemandModel> model = part.needed("model").flatMap(ProgrammeDemand::model);
    Map<String, String> set = new HashMap<>();
    Map<String, Value> constant = new HashMap<>();
    for (ProgrammePart at : part.all("input")) {
      at.only(Set.of("name", "variable", "value"));
      Optional<String> name = at.needed("name").flatMap(ProgrammePart::code);
      Optional<ProgrammePart> variable = at.one("variable");
      Optional<ProgrammePart> value = at.one("value");
      if (variable.isPresent() == value.isPresent()) {
        at.fault(Problem.Kind.BUSINESS_RULE, "an input has either a 'variable' or a 'value'");
      } else if (name.isPresent()) {
        if (set.containsKey(name.get()) || constant.containsKey(name.get())) {
          at.fault(Problem.Kind.BUSINESS_RULE, "the input '" + name.get() + "' is given twice");
        }
        Optional<DemandInput> input = model.flatMap(known -> input(at, known, name.get()));
        variable
            .flatMap(ref -> variable(ref, input, variables))
            .ifPresent(code -> set.put(name.get(), code));
        value
            .flatMap(fixed -> value(fixed, input))
            .ifPresent(known -> constant.put(name.get(), known));
      }
    }
    if (part.all("input").isEmpty()) {
      part.fault(Problem.Kind.MISSING, "a model needs an 'input'");
    }
    return part.faults().count() > before
        ? Optional.empty()
        : model.map(known -> new DemandBinding(known.code(), set, constant));
  }

  private static Optional<DemandModel> model(ProgrammePart part) {
    Optional<String> code = part.code();
    Optional<DemandModel> model = code.flatMap(DemandModel::find);
    if (code.isPresent() && model.isEmpty()) {
      part.fault(Problem.Kind.UNSUPPORTED, "unknown model '" + code.get() + "'");
    }
    return model;
  }

  private static Optional<DemandInput> input(ProgrammePart part, DemandModel model, String name) {
    Optional<DemandInput> input = model.input(name);
    if (input.isEmpty()) {
      part.fault(Problem.Kind.UNSUPPORTED, "'" + model.code() + "' has no input '" + name + "'");
    }
    return input;
  }

  /** A variable of the variation, each of whose values the input can have. */
  private static Optional<String> variable(
      ProgrammePart part, Optional<DemandInput> input, List<ProgressionVariable> variables) {
    Optional<String> code = part.code();
    Optional<ProgressionVariable> variable =
        code.flatMap(named -> variables.stream().filter(v -> v.code().equals(named)).findFirst());
    if (code.isPresent() && variable.isEmpty()) {
      part.fault(Problem.Kind.BUSINESS_RULE, "the variation has no variable '" + code.get() + "'");
    }
    if (input.isPresent()
        && variable.isPresent()
        && !samples(variable.get().source()).stream().allMatch(input.get()::accepts)) {
      part.fault(
          Problem.Kind.BUSINESS_RULE,
          "the input cannot have the values of '" + variable.get().code() + "'");
      return Optional.empty();
    }
    return variable.map(ProgressionVariable::code);
  }

  private static Optional<Value> value(ProgrammePart part, Optional<DemandInput> input) {
    Optional<Value> value = part.setting();
    if (value.isPresent() && input.isPresent() && !input.get().accepts(value.get())) {
      part.fault(Problem.Kind.BUSINESS_RULE, "the input cannot have this value");
      return Optional.empty();
    }
    return value;
  }

  /** Every grade of a scale; of amounts, one of their unit. */
  private static List<? extends Value> samples(Source source) {
    return source instanceof Source.Grades grades
        ? grades.fromEasiest()
        : List.of(Amount.zero(ProgrammeSources.unit(source)));
  }
}

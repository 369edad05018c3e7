package org.tidemark.programme;

import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.TreeMap;
import org.tidemark.quantity.Amount;

/**
 * An exercise in one of its forms.
 *
 * @param code the code of the variation
 * @param title what a person calls it
 * @param instruction how it is done, in plain words
 * @param loadBearing whether the limb carries body weight or more in it
 * @param contactAsked whether each session should reach contact
 * @param reach how far it takes a measure of the body at its deepest point, by code of the measure
 * @param variables what can be made harder, in the programme's order
 * @param ladder its doses
 * @param demand what says how much a setting of it asks, if anything does
 */
public record Variation(
    String code,
    String title,
    String instruction,
    boolean loadBearing,
    boolean contactAsked,
    Map<String, Amount> reach,
    List<ProgressionVariable> variables,
    DoseLadder ladder,
    Optional<DemandBinding> demand) {
  public Variation {
    reach = java.util.Collections.unmodifiableMap(new TreeMap<>(reach));
    variables = List.copyOf(variables);
  }

  public Optional<ProgressionVariable> variable(String variableCode) {
    return variables.stream().filter(v -> v.code().equals(variableCode)).findFirst();
  }
}

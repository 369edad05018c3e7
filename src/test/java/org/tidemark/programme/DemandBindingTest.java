package org.tidemark.programme;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertThrows;

import java.util.Map;
import java.util.Optional;
import org.junit.jupiter.api.Test;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Grade;
import org.tidemark.quantity.Unit;
import org.tidemark.quantity.Value;

/** Where the inputs of a model come from. */
class DemandBindingTest {
  private static final Value FLAT = new Grade("flat");
  private static final DemandBinding BINDING =
      new DemandBinding("statics", Map.of("load", "dumbbell"), Map.of("heel", FLAT));

  @Test
  void anInputComesFromItsVariableOrIsConstantOrLeftOut() {
    Value load = Amount.of(5, Unit.KILOGRAM);
    Setting setting = new Setting(Map.of("dumbbell", load, "load", FLAT));
    assertEquals(Optional.of(load), BINDING.input("load", setting));
    assertEquals(Optional.of(FLAT), BINDING.input("heel", setting));
    assertEquals(Optional.empty(), BINDING.input("step", setting));
    assertEquals(Optional.empty(), BINDING.input("load", new Setting(Map.of())));
  }

  @Test
  void anInputHasOneOrigin() {
    Map<String, String> variables = Map.of("heel", "heel-position");
    Map<String, Value> constants = Map.of("heel", FLAT);
    assertThrows(
        IllegalArgumentException.class, () -> new DemandBinding("statics", variables, constants));
    assertThrows(IllegalArgumentException.class, () -> new DemandBinding(" ", variables, Map.of()));
  }
}

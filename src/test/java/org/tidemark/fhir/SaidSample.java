package org.tidemark.fhir;

import java.lang.reflect.ParameterizedType;
import java.lang.reflect.RecordComponent;
import java.lang.reflect.Type;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.List;
import java.util.Optional;

/** Fills records with values that can be told apart, whatever their components are. */
final class SaidSample {
  private final String text;
  private final boolean full;
  private final int yes;
  private final List<String> filled = new ArrayList<>();
  private int asked;

  /**
   * A way to fill in.
   *
   * @param text what every text is, behind its number
   * @param full whether what may be left out is there
   * @param yes which of the questions, by their bits, are answered with yes
   */
  SaidSample(String text, boolean full, int yes) {
    this.text = text;
    this.full = full;
    this.yes = yes;
  }

  /** The texts that were filled in so far. */
  List<String> filled() {
    return filled;
  }

  <T extends Record> T of(Class<T> type) {
    return type.cast(value(type));
  }

  private Object value(Type type) {
    if (type == String.class) {
      String next = "<" + filled.size() + ">" + text;
      filled.add(next);
      return next;
    }
    if (type == boolean.class) {
      return (yes >> asked++ & 1) == 1;
    }
    if (type instanceof ParameterizedType many) {
      Type inside = many.getActualTypeArguments()[0];
      if (many.getRawType() == Optional.class) {
        return full ? Optional.of(value(inside)) : Optional.empty();
      }
      return full ? List.of(value(inside), value(inside)) : List.of();
    }
    return record((Class<?>) type);
  }

  private Object record(Class<?> type) {
    RecordComponent[] components = type.getRecordComponents();
    Class<?>[] types =
        Arrays.stream(components).map(RecordComponent::getType).toArray(Class[]::new);
    Object[] values =
        Arrays.stream(components).map(component -> value(component.getGenericType())).toArray();
    try {
      return type.getDeclaredConstructor(types).newInstance(values);
    } catch (ReflectiveOperationException e) {
      throw new IllegalArgumentException(type.getName(), e);
    }
  }
}

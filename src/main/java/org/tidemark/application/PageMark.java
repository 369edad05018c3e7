package org.tidemark.application;

import java.nio.charset.StandardCharsets;
import java.util.ArrayList;
import java.util.Base64;
import java.util.List;
import java.util.stream.Collectors;
import org.tidemark.fhir.Problem;
import org.tidemark.store.Query;

/**
 * Where the next page of a search begins, as a text that a client brings back in {@code _cursor}.
 * It says all that is needed, so that it holds for ever: nothing is kept between pages.
 */
final class PageMark {
  private PageMark() {}

  /** The mark of a place. */
  static String of(Query.Cursor place) {
    return place.keys().stream()
        .map(key -> key.toString().getBytes(StandardCharsets.UTF_8))
        .map(Base64.getUrlEncoder().withoutPadding()::encodeToString)
        .collect(Collectors.joining("."));
  }

  /**
   * Reads a mark.
   *
   * @param mark what the client brought back
   * @param sort the order of its search
   * @return the place
   * @throws Problem when this is no mark, or one of another order
   */
  static Query.Cursor read(String mark, List<Query.Sort> sort) {
    String[] parts = mark.split("\\.", -1);
    if (parts.length != sort.size()) {
      throw unknown();
    }
    List<Object> keys = new ArrayList<>();
    for (int i = 0; i < parts.length; i++) {
      try {
        String key = new String(Base64.getUrlDecoder().decode(parts[i]), StandardCharsets.UTF_8);
        keys.add(sort.get(i).isText() ? key : Long.valueOf(key));
      } catch (IllegalArgumentException notOurs) {
        throw unknown();
      }
    }
    return new Query.Cursor(keys);
  }

  private static Problem unknown() {
    return Problem.of(
        Problem.Kind.BAD_REQUEST, "The page is not one that this server gave out.", "_cursor");
  }
}

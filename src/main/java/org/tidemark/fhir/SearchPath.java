package org.tidemark.fhir;

import java.util.List;
import java.util.Optional;
import java.util.regex.Matcher;
import java.util.regex.Pattern;
import java.util.stream.Stream;
import org.hl7.fhir.r4.model.Base;
import org.hl7.fhir.r4.model.Resource;

/**
 * The path of a search parameter: names separated by dots, at the end perhaps the type that the
 * value must have, or the type that a reference must point to. That is all the standard uses for
 * the parameters that we declare; anything else is refused when it is read.
 *
 * @param steps the names of the elements, from the resource down
 * @param valueType the type that a value must have, when the path says so
 * @param targetType the type that a reference must point to, when the path says so
 */
record SearchPath(List<String> steps, Optional<String> valueType, Optional<String> targetType) {
  private static final Pattern FORM =
      Pattern.compile(
          "\\(?(?<type>[A-Z][A-Za-z]+)\\.(?<steps>[a-z][A-Za-z]*(?:\\.[a-z][A-Za-z]*)*?)"
              + "(?:\\.where\\(resolve\\(\\) is (?<target>[A-Z][A-Za-z]+)\\))?"
              + "(?: as (?<as>[A-Za-z]+)|\\.as\\((?<asCall>[A-Za-z]+)\\)|\\.ofType\\((?<of>[A-Za-z]+)\\))?\\)?");

  static SearchPath read(String type, String path) {
    Matcher form = FORM.matcher(path.trim());
    if (!form.matches() || !form.group("type").equals(type)) {
      throw new IllegalArgumentException("cannot read the search path " + path);
    }
    Optional<String> valueType =
        Stream.of("as", "asCall", "of").map(form::group).filter(found -> found != null).findFirst();
    return new SearchPath(
        List.of(form.group("steps").split("\\.")),
        valueType,
        Optional.ofNullable(form.group("target")));
  }

  /** The values at this path. */
  Stream<Base> values(Resource resource) {
    Stream<Base> at = Stream.of(resource);
    for (String step : steps) {
      at = at.flatMap(base -> base.listChildrenByName(step).stream());
    }
    return at.filter(value -> valueType.map(value.fhirType()::equals).orElse(true));
  }

  /** Whether a reference to this type is meant; a reference that names no type is. */
  boolean accepts(String type) {
    return type.isEmpty() || targetType.map(type::equals).orElse(true);
  }
}

package org.tidemark.application;

import jakarta.enterprise.context.ApplicationScoped;
import java.util.LinkedHashSet;
import java.util.List;
import java.util.Optional;
import java.util.Set;
import org.tidemark.fhir.Problem;
import org.tidemark.fhir.SearchParameters;

/**
 * The references between the types that are served: what {@code _include} and {@code _revinclude}
 * may name. They follow from the declared search parameters.
 */
@ApplicationScoped
public class Links {
  private final SearchParameters parameters;

  Links(SearchParameters parameters) {
    this.parameters = parameters;
  }

  /**
   * What {@code _include} may name.
   *
   * @param type the type searched
   * @return such as {@code CarePlan:goal}
   */
  public List<String> forwards(String type) {
    return parameters.of(type).stream()
        .filter(parameter -> !targets(parameter).isEmpty())
        .map(parameter -> type + ":" + parameter.name())
        .sorted()
        .toList();
  }

  /**
   * What {@code _revinclude} may name.
   *
   * @param type the type searched
   * @return such as {@code Provenance:target}
   */
  public List<String> backwards(String type) {
    return Types.WRITTEN.stream()
        .flatMap(
            source ->
                parameters.of(source).stream()
                    .filter(parameter -> parameter.leadsTo(type))
                    .map(parameter -> source + ":" + parameter.name()))
        .sorted()
        .toList();
  }

  /** Reads the value of {@code _include} in a search of a type. */
  Link forward(String type, String value) {
    return read("_include", value, forwards(type), type);
  }

  /** Reads the value of {@code _revinclude} in a search of a type. */
  Link backward(String type, String value) {
    Link link = read("_revinclude", value, backwards(type), type);
    if (!link.targets().contains(type)) {
      throw notOffered("_revinclude", value, backwards(type), type);
    }
    return new Link(link.source(), link.parameter(), Set.of(type));
  }

  private Link read(String name, String value, List<String> offered, String type) {
    String[] parts = value.split(":", 3);
    if (parts.length < 2 || !offered.contains(parts[0] + ":" + parts[1])) {
      throw notOffered(name, value, offered, type);
    }
    Optional<SearchParameters.Parameter> parameter = parameters.find(parts[0], parts[1]);
    Set<String> targets = targets(parameter.orElseThrow());
    if (parts.length == 3) {
      if (!targets.contains(parts[2])) {
        throw notOffered(name, value, offered, type);
      }
      targets = Set.of(parts[2]);
    }
    return new Link(parts[0], parts[1], targets);
  }

  private static Set<String> targets(SearchParameters.Parameter parameter) {
    Set<String> targets = new LinkedHashSet<>();
    Types.served().filter(parameter::leadsTo).forEach(targets::add);
    return targets;
  }

  private static Problem notOffered(String name, String value, List<String> offered, String type) {
    return Problem.of(
        Problem.Kind.UNKNOWN_PARAMETER,
        "A search of %s does not offer %s=%s. It offers: %s."
            .formatted(type, name, value, offered.isEmpty() ? "none" : String.join(", ", offered)),
        name);
  }
}

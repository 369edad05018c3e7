package org.tidemark.recordsystem;

import ca.uhn.fhir.context.FhirContext;
import com.fasterxml.jackson.core.JsonProcessingException;
import com.fasterxml.jackson.databind.ObjectMapper;
import com.fasterxml.jackson.databind.node.ObjectNode;
import java.util.Objects;
import java.util.Set;
import java.util.TreeSet;
import org.hl7.fhir.r4.model.Resource;

/** Finds which elements of a record were changed, and changes them in another of its versions. */
final class Edit {
  private static final ObjectMapper JSON = new ObjectMapper();

  /** What a server sets itself, or the one who writes sets anew. */
  private static final Set<String> APART = Set.of("id", "meta", "text", "identifier");

  private final FhirContext context;

  Edit(FhirContext context) {
    this.context = context;
  }

  /** The names of the elements, of a record's first level, in which two versions differ. */
  Set<String> between(Resource one, Resource other) {
    ObjectNode first = json(one);
    ObjectNode second = json(other);
    Set<String> names = new TreeSet<>();
    first.fieldNames().forEachRemaining(names::add);
    second.fieldNames().forEachRemaining(names::add);
    names.removeAll(APART);
    names.removeIf(name -> Objects.equals(first.get(name), second.get(name)));
    return names;
  }

  /** A record with some elements as another version has them. */
  Resource with(Resource record, Set<String> names, Resource from) {
    ObjectNode changed = json(record);
    ObjectNode source = json(from);
    for (String name : names) {
      if (source.has(name)) {
        changed.set(name, source.get(name));
      } else {
        changed.remove(name);
      }
    }
    return (Resource) context.newJsonParser().parseResource(changed.toString());
  }

  private ObjectNode json(Resource resource) {
    try {
      return (ObjectNode) JSON.readTree(context.newJsonParser().encodeResourceToString(resource));
    } catch (JsonProcessingException e) {
      throw new IllegalStateException("HAPI writes JSON", e);
    }
  }
}

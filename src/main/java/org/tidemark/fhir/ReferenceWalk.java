package org.tidemark.fhir;

import java.util.List;
import java.util.function.BiConsumer;
import org.hl7.fhir.r4.model.Base;
import org.hl7.fhir.r4.model.PrimitiveType;
import org.hl7.fhir.r4.model.Property;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.Resource;

/** Visits every Reference in a resource, also in extensions and contained resources. */
public final class ReferenceWalk {
  private ReferenceWalk() {}

  /**
   * Visits every Reference that has a text.
   *
   * @param resource where to look
   * @param visitor receives the FHIRPath of each reference, and the reference
   */
  public static void each(Resource resource, BiConsumer<String, Reference> visitor) {
    all(
        resource,
        (path, reference) -> {
          if (reference.hasReference()) {
            visitor.accept(path, reference);
          }
        });
  }

  /**
   * Visits every Reference, also one that names what it refers to by an identifier alone.
   *
   * @param resource where to look
   * @param visitor receives the FHIRPath of each reference, and the reference
   */
  public static void all(Resource resource, BiConsumer<String, Reference> visitor) {
    walk(resource, resource.fhirType(), visitor);
  }

  private static void walk(Base at, String path, BiConsumer<String, Reference> visitor) {
    if (at instanceof Reference reference) {
      visitor.accept(path, reference);
    }
    for (Property property : at.children()) {
      if (!property.hasValues()) {
        continue;
      }
      List<Base> values = property.getValues();
      String name = property.getName().replace("[x]", "");
      for (int i = 0; i < values.size(); i++) {
        Base value = values.get(i);
        if (!(value instanceof PrimitiveType<?> primitive) || primitive.hasExtension()) {
          String index = property.isList() ? "[" + i + "]" : "";
          walk(value, path + "." + name + index, visitor);
        }
      }
    }
  }
}

package org.tidemark.fhir;

import ca.uhn.fhir.context.FhirContext;
import jakarta.json.Json;
import jakarta.json.JsonArray;
import jakarta.json.JsonException;
import jakarta.json.JsonObject;
import jakarta.json.JsonPatch;
import jakarta.json.JsonReader;
import jakarta.json.JsonStructure;
import java.io.StringReader;
import java.nio.charset.StandardCharsets;
import java.util.Set;
import org.hl7.fhir.r4.model.Binary;
import org.hl7.fhir.r4.model.Parameters;
import org.hl7.fhir.r4.model.Resource;

/**
 * Changes a resource by a patch, either a JSON Patch (RFC 6902) or a FHIRPath Patch. What comes of
 * it is checked like a body that was sent whole.
 */
public final class Patches {
  /** The media type of a JSON Patch. */
  public static final String JSON_PATCH = "application/json-patch+json";

  private static final Set<String> OPERATIONS =
      Set.of("add", "remove", "replace", "move", "copy", "test");

  private final FhirContext context;
  private final BodyCheck bodyCheck;

  /**
   * Patches.
   *
   * @param context HAPI's context for R4
   * @param bodyCheck checks what comes of a patch
   */
  public Patches(FhirContext context, BodyCheck bodyCheck) {
    this.context = context;
    this.bodyCheck = bodyCheck;
  }

  /**
   * Applies a JSON Patch.
   *
   * @param resource the resource, which stays as it is
   * @param operations the patch, a JSON array of operations
   * @return the changed resource
   * @throws Problem when the patch is none, when an operation fails, a {@code test} among them, or
   *     when what comes of it is no resource
   */
  public Resource json(Resource resource, String operations) {
    String text = context.newJsonParser().encodeResourceToString(resource);
    return checked(patched(text, operations).toString());
  }

  static JsonStructure patched(String text, String operations) {
    JsonPatch patch = patch(operations);
    try (JsonReader reader = Json.createReader(new StringReader(text))) {
      return patch.apply(reader.read());
    } catch (JsonException | IndexOutOfBoundsException | ClassCastException e) {
      throw failed(e.getMessage());
    }
  }

  private static JsonPatch patch(String operations) {
    try (JsonReader reader = Json.createReader(new StringReader(operations))) {
      JsonArray array = reader.readArray();
      boolean complete =
          array.stream()
              .allMatch(
                  operation ->
                      operation instanceof JsonObject object
                          && OPERATIONS.contains(object.getString("op", ""))
                          && object.containsKey("path"));
      if (!complete) {
        throw Problem.of(
            Problem.Kind.MALFORMED,
            "Each operation of a JSON Patch has an op (add, remove, replace, move, copy or test) and a"
                + " path.");
      }
      return Json.createPatch(array);
    } catch (JsonException e) {
      throw Problem.of(
          Problem.Kind.MALFORMED, "The body is not a JSON Patch: an array of operations.");
    }
  }

  /**
   * Applies a FHIRPath Patch.
   *
   * @param resource the resource, which stays as it is
   * @param operations the patch
   * @return the changed resource
   * @throws Problem when the patch is none, when an operation cannot be carried out, or when what
   *     comes of it is no resource
   */
  public Resource fhirPath(Resource resource, Parameters operations) {
    Resource patched = resource.copy();
    new PathPatch(context, patched).apply(operations);
    return checked(context.newJsonParser().encodeResourceToString(patched));
  }

  /**
   * Applies a patch that came as a resource.
   *
   * @param resource the resource, which stays as it is
   * @param patch a Parameters with a FHIRPath Patch, or a Binary with a JSON Patch
   * @return the changed resource
   * @throws Problem when it is neither, and as the other methods
   */
  public Resource any(Resource resource, Resource patch) {
    if (patch instanceof Parameters operations) {
      return fhirPath(resource, operations);
    }
    if (patch instanceof Binary binary && JSON_PATCH.equals(binary.getContentType())) {
      return json(resource, new String(binary.getData(), StandardCharsets.UTF_8));
    }
    throw Problem.of(
        Problem.Kind.UNSUPPORTED,
        "A patch is a Parameters (FHIRPath Patch) or a Binary of the type " + JSON_PATCH + ".");
  }

  static Problem failed(String why, String... expressions) {
    return Problem.of(
        Problem.Kind.PATCH_FAILED, "The patch cannot be carried out: " + why, expressions);
  }

  private Resource checked(String text) {
    bodyCheck.check(text.getBytes(StandardCharsets.UTF_8), false);
    return (Resource) context.newJsonParser().parseResource(text);
  }
}

package org.tidemark.recordsystem;

import java.util.HashMap;
import java.util.Map;
import java.util.Optional;
import org.hl7.fhir.r4.model.Identifier;
import org.hl7.fhir.r4.model.Meta;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.Resource;
import org.tidemark.fhir.ReferenceWalk;

/**
 * Puts records of ours as they are kept in a record system, and back. There a record keeps its id
 * here as an identifier, and its version here as {@code meta.source}; a reference to what is not
 * there becomes one by that identifier.
 */
final class Counterparts {
  private static final String VERSION = "/_history/";

  private final String ours;
  private final String theirs;
  private final Map<String, String> there = new HashMap<>();
  private final Map<String, String> here = new HashMap<>();

  /**
   * Knows of nothing yet.
   *
   * @param ours our base, with a slash at the end
   * @param theirs that of the record system, likewise
   */
  Counterparts(String ours, String theirs) {
    this.ours = ours;
    this.theirs = theirs;
  }

  /** Knows what another one does. */
  Counterparts(Counterparts other) {
    this(other.ours, other.theirs);
    there.putAll(other.there);
    here.putAll(other.here);
  }

  /** Takes note that a record of ours is one of theirs, both as {@code Type/id}. */
  void know(String reference, String referenceThere) {
    there.put(reference, referenceThere);
    here.put(referenceThere, reference);
  }

  /** What a record of ours, as {@code Type/id}, is there. */
  Optional<String> there(String reference) {
    return Optional.ofNullable(there.get(reference));
  }

  /** The identifier that a record of ours has there. */
  Identifier identifier(String type, String id) {
    return new Identifier().setSystem(ours + type).setValue(id);
  }

  /** A version of a record of ours as it is kept there; it has no id yet. */
  Resource outward(Resource record) {
    Resource sent = record.copy();
    String type = record.fhirType();
    String id = record.getIdElement().getIdPart();
    sent.setId((String) null);
    sent.getMeta()
        .setVersionIdElement(null)
        .setLastUpdatedElement(null)
        .setSource(ours + type + "/" + id + VERSION + record.getMeta().getVersionId());
    if (sent.getNamedProperty("identifier") != null) {
      Identifier known = identifier(type, id);
      boolean named =
          sent.getNamedProperty("identifier").getValues().stream()
              .anyMatch(identifier -> identifier.equalsDeep(known));
      if (!named) {
        sent.setProperty("identifier", known);
      }
    }
    ReferenceWalk.each(sent, (path, reference) -> outward(reference));
    return sent;
  }

  private void outward(Reference reference) {
    String text = reference.getReference();
    if (text.startsWith(theirs)) {
      reference.setReference(text.substring(theirs.length()));
    } else if (!text.startsWith("#")) {
      String local = text.startsWith(ours) ? text.substring(ours.length()) : text;
      refer(
          reference, local.contains(VERSION) ? local.substring(0, local.indexOf(VERSION)) : local);
    }
  }

  private void refer(Reference reference, String local) {
    if (there.containsKey(local)) {
      reference.setReference(there.get(local));
    } else if (local.matches("[A-Za-z]+/[A-Za-z0-9\\-.]{1,64}")) {
      String[] parts = local.split("/");
      reference.setReference(null);
      if (!reference.hasIdentifier()) {
        reference.setIdentifier(identifier(parts[0], parts[1])).setType(parts[0]);
      }
    }
  }

  /** A record of theirs, with references as {@link #outward} would put them now. */
  Resource plain(Resource given) {
    Resource plain = given.copy();
    ReferenceWalk.all(
        plain,
        (path, reference) -> {
          Optional<String> named = named(reference);
          if (named.isPresent()) {
            unname(reference);
            refer(reference, named.get());
          } else if (reference.hasReference() && reference.getReference().startsWith(theirs)) {
            reference.setReference(reference.getReference().substring(theirs.length()));
          }
        });
    return plain;
  }

  /** A record of theirs with references as they are here. */
  Resource inward(Resource given) {
    Resource taken = plain(given);
    ReferenceWalk.all(
        taken,
        (path, reference) -> {
          Optional<String> named = named(reference);
          String text = Optional.ofNullable(reference.getReference()).orElse("");
          if (named.isPresent()) {
            unname(reference);
            reference.setReference(named.get());
          } else if (here.containsKey(text)) {
            reference.setReference(here.get(text));
          } else if (text.matches("[A-Za-z]+/.+")) {
            reference.setReference(theirs + text);
          }
        });
    return taken;
  }

  /** What a reference without an address names by an identifier of ours, as {@code Type/id}. */
  private Optional<String> named(Reference reference) {
    Identifier identifier = reference.getIdentifier();
    return Optional.of(identifier)
        .filter(known -> !reference.hasReference() && known.hasValue())
        .map(Identifier::getSystem)
        .filter(system -> system.startsWith(ours))
        .map(system -> system.substring(ours.length()) + "/" + identifier.getValue());
  }

  private static void unname(Reference reference) {
    reference.setIdentifier(null).setType(null);
  }

  /**
   * Our version that a record there was last written from by us, as it says itself; empty when it
   * does not.
   */
  Optional<Long> version(Resource given, String reference) {
    String source = Optional.ofNullable(given.getMeta()).map(Meta::getSource).orElse("");
    String begin = ours + reference + VERSION;
    return Optional.of(source)
        .filter(text -> text.startsWith(begin))
        .map(text -> text.substring(begin.length()).replaceFirst("#.*", ""))
        .filter(text -> text.matches("[0-9]{1,18}"))
        .map(Long::parseLong);
  }
}

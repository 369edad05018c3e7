package org.tidemark.clinic;

import java.nio.file.Path;
import java.time.ZoneId;
import java.util.List;
import java.util.Locale;
import java.util.Optional;

/**
 * A clinic that is served, and what is set for it.
 *
 * @param id its id, the first column of every row of its own
 * @param base where the FHIR endpoint is reached, with a slash at the end
 * @param organisation its name
 * @param language the language of what its clinicians read
 * @param zone what a date without a time means there
 * @param handoverKey the file with the key that its documents are signed with; empty when one is
 *     made
 * @param trusted the clinics whose documents it takes, as {@code base address|keys}
 * @param hookClients the systems that call its hooks by tokens of their own, as {@code issuer|keys}
 */
public record Clinic(
    String id,
    String base,
    String organisation,
    Locale language,
    ZoneId zone,
    Optional<Path> handoverKey,
    List<String> trusted,
    List<String> hookClients) {
  /** Copies the lists. */
  public Clinic {
    trusted = List.copyOf(trusted);
    hookClients = List.copyOf(hookClients);
  }
}

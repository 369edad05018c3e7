package org.tidemark.recordsystem;

import io.quarkus.runtime.configuration.ConfigurationException;
import jakarta.enterprise.context.ApplicationScoped;
import java.net.URI;
import java.nio.file.Path;
import java.time.Instant;
import java.time.format.DateTimeParseException;
import java.util.HashMap;
import java.util.Map;
import java.util.Optional;
import org.tidemark.clinic.Clinic;
import org.tidemark.clinic.Clinics;
import org.tidemark.recordsystem.RecordSystem.Login;

/** The record systems of the clinics, by the settings {@code tidemark.record-system.*}. */
@ApplicationScoped
class RecordSystems {
  private static final String PREFIX = "record-system.";

  private final Clinics clinics;
  private final Map<String, RecordSystem> known = new HashMap<>();

  /**
   * Reads the settings.
   *
   * @throws ConfigurationException when they are at fault
   */
  RecordSystems(Clinics clinics) {
    this.clinics = clinics;
    for (Clinic clinic : clinics.all()) {
      setting(clinic, "base-url").ifPresent(base -> known.put(clinic.id(), read(clinic, base)));
    }
    if (known.isEmpty() && clinics.all().stream().anyMatch(this::isWrittenTo)) {
      throw fault("base-url", "is needed where tidemark." + PREFIX + "write-back is true");
    }
  }

  private boolean isWrittenTo(Clinic clinic) {
    return setting(clinic, "write-back").map(Boolean::parseBoolean).orElse(false);
  }

  /** That of the clinic that is acted for, if it has one. */
  Optional<RecordSystem> find() {
    return Optional.ofNullable(known.get(clinics.acting().id()));
  }

  private RecordSystem read(Clinic clinic, String base) {
    return new RecordSystem(
        address("base-url", base.endsWith("/") ? base : base + "/"),
        setting(clinic, "client-id").map(id -> login(clinic, id)),
        setting(clinic, "pull.search").orElse(""),
        setting(clinic, "pull.from").map(RecordSystems::moment),
        isWrittenTo(clinic));
  }

  private Login login(Clinic clinic, String clientId) {
    return new Login(
        clientId,
        address("token-endpoint", needed(clinic, "token-endpoint")),
        Path.of(needed(clinic, "key")),
        needed(clinic, "scopes"));
  }

  private String needed(Clinic clinic, String setting) {
    return setting(clinic, setting)
        .orElseThrow(
            () -> fault(setting, "is needed where tidemark." + PREFIX + "client-id is set"));
  }

  private Optional<String> setting(Clinic clinic, String setting) {
    return clinics.setting(clinic, PREFIX + setting).filter(text -> !text.isEmpty());
  }

  private static URI address(String setting, String text) {
    try {
      URI address = URI.create(text);
      if (address.getHost() != null && address.getScheme() != null) {
        return address;
      }
    } catch (IllegalArgumentException wrong) {
      throw fault(setting, "is no address");
    }
    throw fault(setting, "is an absolute address");
  }

  private static Instant moment(String text) {
    try {
      return Instant.parse(text);
    } catch (DateTimeParseException wrong) {
      throw fault("pull.from", "is a moment such as 2026-03-02T18:00:00Z");
    }
  }

  private static ConfigurationException fault(String setting, String what) {
    return new ConfigurationException("tidemark." + PREFIX + setting + " " + what + ".");
  }
}

package org.tidemark.clinic;

import io.quarkus.runtime.configuration.ConfigurationException;
import jakarta.inject.Singleton;
import java.net.URI;
import java.nio.file.Path;
import java.time.ZoneId;
import java.util.Collection;
import java.util.LinkedHashMap;
import java.util.LinkedHashSet;
import java.util.List;
import java.util.Locale;
import java.util.Map;
import java.util.Optional;
import java.util.Set;
import java.util.function.BooleanSupplier;
import java.util.regex.Pattern;
import org.eclipse.microprofile.config.Config;

/**
 * The clinics that the service serves. What is set for one, such as {@code
 * tidemark.clinics.north.base-url}, goes before what is set for all ({@code tidemark.base-url}).
 */
@Singleton
public class Clinics {
  private static final String PREFIX = "tidemark.";
  private static final String HOME = PREFIX + "clinic";
  private static final String SERVED = PREFIX + "clinics";

  private static final int HTTP = 80;
  private static final int HTTPS = 443;

  /** What stands in the columns and in names of settings. */
  private static final Pattern ID = Pattern.compile("[A-Za-z0-9._-]{1,64}");

  private final Config config;
  private final Map<String, Clinic> served = new LinkedHashMap<>();
  private final Clinic home;

  /**
   * Reads the settings.
   *
   * @throws ConfigurationException when they are at fault
   */
  public Clinics(Config config) {
    this.config = config;
    String homeId = config.getValue(HOME, String.class).strip();
    for (String id : ids(homeId)) {
      if (!ID.matcher(id).matches()) {
        throw new ConfigurationException(
            "The id of a clinic is made of letters, digits, '.', '_' and '-', 64 at the most: '"
                + id
                + "' is not.");
      }
      served.put(id, read(id));
    }
    this.home =
        Optional.ofNullable(served.get(homeId))
            .orElseThrow(
                () ->
                    new ConfigurationException(
                        SERVED + " must name " + homeId + ", which " + HOME + " names."));
  }

  private Set<String> ids(String homeId) {
    Set<String> ids = new LinkedHashSet<>();
    config
        .getOptionalValues(SERVED, String.class)
        .orElse(List.of())
        .forEach(id -> ids.add(id.strip()));
    return ids.isEmpty() ? Set.of(homeId) : ids;
  }

  private Clinic read(String id) {
    String base = slashed(text(id, "base-url"));
    List<String> trusted = list(id, "handover.trusted");
    if (trusted.stream().map(one -> slashed(one.split("\\|")[0].strip())).anyMatch(base::equals)) {
      throw new ConfigurationException(
          "The clinic "
              + id
              + " trusts documents from its own address, whose records it would take for its own:"
              + " give each clinic a base-url of its own.");
    }
    return new Clinic(
        id,
        base,
        text(id, "organisation"),
        config.getValue(name(id, "language"), Locale.class),
        config.getValue(name(id, "time-zone"), ZoneId.class),
        config.getOptionalValue(name(id, "handover.key"), Path.class),
        trusted,
        list(id, "hooks.trusted"));
  }

  private List<String> list(String id, String setting) {
    return config.getOptionalValues(name(id, setting), String.class).orElse(List.of());
  }

  private static String slashed(String address) {
    return address.endsWith("/") ? address : address + "/";
  }

  private String text(String id, String setting) {
    return config.getValue(name(id, setting), String.class);
  }

  /**
   * What is set for a clinic, or else for all.
   *
   * @param clinic the clinic
   * @param setting the name without what it begins with, such as {@code record-system.base-url}
   * @return the text; empty when nothing is set
   */
  public Optional<String> setting(Clinic clinic, String setting) {
    return config.getOptionalValue(name(clinic.id(), setting), String.class).map(String::strip);
  }

  /** The setting of one clinic where there is one, else that of all. */
  private String name(String id, String setting) {
    String own = SERVED + "." + id + "." + setting;
    return config.getOptionalValue(own, String.class).isPresent() ? own : PREFIX + setting;
  }

  /** The clinic that open access acts for, and to whose trail what nobody's token names goes. */
  public Clinic home() {
    return home;
  }

  /** Every clinic that is served. */
  public Collection<Clinic> all() {
    return served.values();
  }

  /** A clinic that is served. */
  public Optional<Clinic> find(String id) {
    return Optional.ofNullable(served.get(id));
  }

  /** The clinic whose endpoint is reached at a host and port; the home clinic where none is. */
  public Clinic reachedAt(String host, int port) {
    return served.values().stream()
        .filter(clinic -> isAt(URI.create(clinic.base()), host, port))
        .findFirst()
        .orElse(home);
  }

  /** A proxy that ends TLS before the service makes a port without a number one of plain HTTP. */
  private static boolean isAt(URI base, String host, int port) {
    boolean samePort = base.getPort() >= 0 ? port == base.getPort() : port == HTTP || port == HTTPS;
    return host.equalsIgnoreCase(base.getHost()) && samePort;
  }

  /** The clinic that this thread works for. */
  public Clinic acting() {
    String id = ActingClinic.current();
    return find(id).orElseThrow(() -> new IllegalStateException("the clinic is not served"));
  }

  /** Does a piece of work for one clinic after the other. */
  public void each(Runnable work) {
    served.keySet().forEach(id -> ActingClinic.during(id, work::run));
  }

  /**
   * Does pieces of work as long as there are any, one of each clinic at a time, so that one that
   * has much does not keep the others waiting.
   *
   * @param next does a piece of the acting clinic, and says whether there was one
   */
  public void inTurns(BooleanSupplier next) {
    Set<String> waiting = new LinkedHashSet<>(served.keySet());
    while (!waiting.isEmpty()) {
      waiting.removeIf(id -> !ActingClinic.call(id, next::getAsBoolean));
    }
  }
}

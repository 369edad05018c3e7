package org.tidemark.exchange;

import io.quarkus.runtime.StartupEvent;
import io.quarkus.runtime.configuration.ConfigurationException;
import io.quarkus.tls.TlsConfiguration;
import io.quarkus.tls.TlsConfigurationRegistry;
import jakarta.enterprise.context.ApplicationScoped;
import jakarta.enterprise.event.Observes;
import java.util.List;
import java.util.Locale;
import java.util.Optional;
import java.util.Set;
import java.util.stream.Collectors;
import org.eclipse.microprofile.config.inject.ConfigProperty;

/**
 * Hosts to which the service connects by its TLS configuration {@code outgoing}, such as the record
 * system: it shows them its certificate (mutual TLS) if it has one, and judges theirs by the trust
 * store of that configuration if it has one. To all others it connects as the JDK does.
 */
@ApplicationScoped
class OutgoingTls {
  /** The name of the TLS configuration. */
  static final String NAME = "outgoing";

  private static final String HOSTS = "tidemark.outgoing.tls-hosts";

  private final Set<String> hosts;
  private final Optional<TlsConfiguration> tls;

  /**
   * The settings.
   *
   * @throws ConfigurationException when there are hosts and no TLS configuration, or one that
   *     trusts anybody
   */
  OutgoingTls(
      TlsConfigurationRegistry registry,
      @ConfigProperty(name = HOSTS) Optional<List<String>> hosts) {
    this.hosts =
        hosts.orElse(List.of()).stream()
            .map(host -> host.strip().toLowerCase(Locale.ROOT))
            .filter(host -> !host.isEmpty())
            .collect(Collectors.toUnmodifiableSet());
    this.tls = this.hosts.isEmpty() ? Optional.empty() : Optional.of(safe(registry.get(NAME)));
  }

  private static TlsConfiguration safe(Optional<TlsConfiguration> found) {
    TlsConfiguration tls =
        found.orElseThrow(
            () ->
                new ConfigurationException(
                    HOSTS + " needs the settings quarkus.tls." + NAME + ".… of how to connect."));
    if (tls.isTrustAll()
        || tls.getHostnameVerificationAlgorithm().filter("NONE"::equals).isPresent()) {
      throw new ConfigurationException(
          "quarkus.tls."
              + NAME
              + " must not trust whoever answers: name its certificates instead.");
    }
    return tls;
  }

  /** Makes it at the start, so that wrong settings end that. */
  void check(@Observes StartupEvent start) {}

  /** How to connect to the hosts; empty when there are none. */
  Optional<TlsConfiguration> find() {
    return tls;
  }

  /** Whether a host is one of them. */
  boolean isFor(String host) {
    return hosts.contains(host.toLowerCase(Locale.ROOT));
  }
}

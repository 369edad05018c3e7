package org.tidemark.application;

import jakarta.enterprise.context.ApplicationScoped;
import org.eclipse.microprofile.health.HealthCheck;
import org.eclipse.microprofile.health.HealthCheckResponse;
import org.eclipse.microprofile.health.Readiness;

/** Ready once no write has to wait for R4's definitions, some seconds after the start. */
@Readiness
@ApplicationScoped
class DefinitionsReady implements HealthCheck {
  private final Validation validation;

  DefinitionsReady(Validation validation) {
    this.validation = validation;
  }

  @Override
  public HealthCheckResponse call() {
    return HealthCheckResponse.named("definitions").status(validation.isReady()).build();
  }
}

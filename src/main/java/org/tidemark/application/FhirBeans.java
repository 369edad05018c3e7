package org.tidemark.application;

import ca.uhn.fhir.context.FhirContext;
import jakarta.enterprise.inject.Produces;
import jakarta.inject.Singleton;
import org.tidemark.clinic.Clinics;
import org.tidemark.fhir.BodyCheck;
import org.tidemark.fhir.Patches;
import org.tidemark.fhir.References;
import org.tidemark.fhir.SearchParameters;

/** Makes the parts of {@code fhir} that are costly or need settings, once. */
class FhirBeans {

  @Produces
  @Singleton
  FhirContext context() {
    return FhirModel.context();
  }

  @Produces
  @Singleton
  References references(Clinics clinics) {
    return new References(() -> clinics.acting().base());
  }

  @Produces
  @Singleton
  SearchParameters searchParameters(FhirContext context, References references) {
    return new SearchParameters(context, references);
  }

  @Produces
  @Singleton
  BodyCheck bodyCheck(FhirContext context, Limits limits) {
    return new BodyCheck(context, limits.depth());
  }

  @Produces
  @Singleton
  Patches patches(FhirContext context, BodyCheck bodyCheck) {
    return new Patches(context, bodyCheck);
  }
}

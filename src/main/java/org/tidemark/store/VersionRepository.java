package org.tidemark.store;

import io.quarkus.hibernate.orm.panache.PanacheRepositoryBase;
import jakarta.enterprise.context.ApplicationScoped;

/** Versions by their key. A version never changes once written. */
@ApplicationScoped
class VersionRepository implements PanacheRepositoryBase<VersionRow, VersionRow.Key> {}

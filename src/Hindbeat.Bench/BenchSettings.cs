namespace Hindbeat.Bench;

/// <summary>What the bench needs to know to start. It always listens on 127.0.0.1 and nowhere else.</summary>
public sealed record BenchSettings
{
    /// <summary>The folder that holds the library of studies.</summary>
    public required string LibraryFolder { get; init; }

    /// <summary>The port to answer on; 0 = <see cref="PreferredPort"/>, or any free one where that is taken.</summary>
    public int Port { get; init; }

    /// <summary>
    /// Asked for first when no port is given: a page that was left open finds the bench again when it is started anew. 0 = none is.
    /// </summary>
    public int PreferredPort { get; init; }

    /// <summary>Says when a study is added or a test answered.</summary>
    public TimeProvider Clock { get; init; } = TimeProvider.System;

    /// <summary>Told of what goes wrong while serving, one line each; null = nobody is told.</summary>
    public Action<string>? OnProblem { get; init; }
}

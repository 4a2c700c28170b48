using Microsoft.Extensions.Logging;

namespace Hindbeat.Bench;

/// <summary>Passes warnings and errors of the server on as single lines; the rest is of no use to a drummer.</summary>
internal sealed class ProblemLog(Action<string> onProblem) : ILoggerProvider
{
    public ILogger CreateLogger(string categoryName) => new Log(categoryName, onProblem);

    public void Dispose()
    {
    }

    private sealed class Log(string category, Action<string> onProblem) : ILogger
    {
        public IDisposable? BeginScope<TState>(TState state)
            where TState : notnull => null;

        // Ephemeral keys are meant to be ephemeral; the framework warns of that at every start. What is sent without the
        // page's token is refused and answered; nothing is wrong with the server then.
        public bool IsEnabled(LogLevel logLevel) =>
            logLevel >= LogLevel.Warning && !category.StartsWith("Microsoft.AspNetCore.DataProtection", StringComparison.Ordinal) && !category.StartsWith("Microsoft.AspNetCore.Antiforgery", StringComparison.Ordinal);

        void ILogger.Log<TState>(LogLevel logLevel, EventId eventId, TState state, Exception? exception, Func<TState, Exception?, string> formatter)
        {
            if (IsEnabled(logLevel))
                onProblem($"{category}: {formatter(state, exception)}{(exception is null ? "" : $" ({exception.GetType().Name}: {exception.Message})")}".ReplaceLineEndings(" "));
        }
    }
}

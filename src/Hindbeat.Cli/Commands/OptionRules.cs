using System.CommandLine;
using System.CommandLine.Parsing;

namespace Hindbeat.Cli.Commands;

/// <summary>Which options go together. One that would have no effect is refused: silence would look like obedience.</summary>
internal sealed class OptionRules
{
    private readonly List<Func<CommandResult, string?>> _rules = [];

    /// <summary>The option makes sense beside at least one of the others only.</summary>
    public void Needs(Option option, params Option[] anyOf) => _rules.Add(result => IsGiven(result, option) && !anyOf.Any(other => IsGiven(result, other))
        ? $"{option.Name} has no effect without {string.Join(" or ", anyOf.Select(other => other.Name))}."
        : null);

    /// <summary>The option makes no sense beside any of the others.</summary>
    public void Excludes(Option option, IEnumerable<Option> others) => _rules.Add(result =>
        IsGiven(result, option) && others.FirstOrDefault(other => IsGiven(result, other)) is { } other ? $"{other.Name} has no effect with {option.Name}; give one of them." : null);

    public void AddTo(Command command) => command.Validators.Add(result =>
    {
        if (_rules.Select(rule => rule(result)).FirstOrDefault(complaint => complaint is not null) is { } complaint)
            result.AddError(complaint);
    });

    private static bool IsGiven(CommandResult result, Option option) => result.GetResult(option) is { Implicit: false };
}
